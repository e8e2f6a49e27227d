"""Checks of names: unique across all kinds, and events that act on something that exists."""

from collections import Counter
from collections.abc import Iterator

from sim.case.read.messages import ask, show
from sim.case.read.validation import Item, Parts
from sim.components import KINDS, SINGLE
from sim.components.kinds import AT_MADE_NODES, COMPONENTS
from sim.components.study.event import TARGETS
from sim.topology import list_at_node, list_nodes

# reactor, arrester and fault are what components and nodes are commonly called
RESERVED = (*SINGLE, *(kind for kind in KINDS if kind not in AT_MADE_NODES), "title")
OPPOSITE = {"close": True, "open": False}


def check_names(parts: Parts) -> list[str]:
    """Mistakes of names and references, one sentence each."""
    return [*check_unique(parts), *check_reserved(parts), *check_nodes(parts), *check_events(parts)]


def list_components(parts: Parts) -> list[Item]:
    """All items but nodes and events."""
    return parts.of(*COMPONENTS)


def check_unique(parts: Parts) -> Iterator[str]:
    """Every name stands for one thing."""
    names = Counter(item.name for item in list_components(parts) if item.name)
    for name, count in names.items():
        kinds = [item.kind for item in list_components(parts) if item.name == name]
        if count > 1:
            yield f"{name}: the name of {count} components ({', '.join(kinds)}). Give each a name of its own."
        if name in list_nodes(parts.items):
            yield (f"{name}: the name of a {kinds[0]} and of a node. Results are filed by name: rename one "
                   f"of the two, such as {name}_bus for the node.")
    for name, count in Counter(item.name for item in parts.of("node") if item.name).items():
        if count > 1:
            yield f"{name}: {count} [[node]] tables of this name. Merge them into one."


def check_reserved(parts: Parts) -> Iterator[str]:
    """No component or node has the name of a table."""
    names = dict.fromkeys([item.name for item in list_components(parts)] + list_nodes(parts.items))
    for name in names:
        if name in RESERVED:
            yield f"{name}: a word of the case file itself. Choose another name, such as {name}_1."


def check_nodes(parts: Parts) -> Iterator[str]:
    """Every node table belongs to a node at which something stands; whether that makes a node is told there."""
    known = list_nodes(parts.items)
    for item in parts.of("node"):
        if item.name and not list_at_node(parts.items, item.name):
            yield f"{item.name}: no component is joined to this node. {ask(item.name, known, 'nodes')}"


def check_events(parts: Parts) -> Iterator[str]:
    """Every event acts on a component of its kind."""
    duration = parts.single["study"].duration_s
    for item in parts.of("event"):
        at = item.table.at_s
        if at is not None and duration is not None and at > duration:
            yield (f"{item.path}.at_s = {show(at)}: must be <= study.duration_s = {duration:g}. Move the "
                   "event or lengthen the study.")
        if item.table.target is not None and item.table.action is not None:
            yield from check_target(item, parts)


def check_target(item: Item, parts: Parts) -> Iterator[str]:
    """The target of an event exists and is of the kind its action needs."""
    event, wanted = item.table, TARGETS[item.table.action]
    kinds = [other.kind for other in list_components(parts) if other.name == event.target]
    known = [other.name for other in parts.of(wanted) if other.name]
    if not kinds:
        yield (f"{item.path}.target = {show(event.target)}: no {wanted} of this name. "
               f"{ask(event.target, known, f'{wanted}s')}")
    elif wanted not in kinds:
        yield (f"{item.path}.target = {show(event.target)}: is a {kinds[0]}, but action = \"{event.action}\" "
               f"needs a {wanted}. {ask(event.target, known, f'{wanted}s')}")


def find_idle_events(parts: Parts) -> list[str]:
    """Warnings about orders to breakers that are there already."""
    position = {item.name: item.table.closed for item in parts.of("breaker")}
    warnings = []
    for item in sorted(parts.of("event"), key=lambda item: item.table.at_s):
        event = item.table
        if event.action not in OPPOSITE:
            continue
        if position[event.target] == OPPOSITE[event.action]:
            state = "closed" if position[event.target] else "open"
            warnings.append(f"{item.path}: {event.target} is {state} already at {event.at_s:g} s, the event "
                            "does nothing")
        position[event.target] = OPPOSITE[event.action]
    return warnings
