"""What the network as a whole has to be: one voltage in each zone, one source in each island, loops that close."""

from collections.abc import Iterator
from math import log, sqrt
from typing import Any

from sim.case.read.messages import ask, show, suggest
from sim.case.read.validation import Item, Parts
from sim.case.voltages import VOLTAGE_APART, Statement, list_statements
from sim.components.branches.transformer import split_group
from sim.components.kinds import LINKS, NODE_MAKERS, SOURCES
from sim.topology import find_islands, find_zones, list_at_node, list_joints, list_nodes

TO_EARTH = 0.02         # share by which a ratio of voltages may miss the square root of 3 to count as it
RATIO_APART = 0.005     # ln of the ratio by which parallel transformers may differ without a warning


def check_network(parts: Parts) -> list[str]:
    """Mistakes of the network, one sentence each.

    What would only follow from a missing or wrong terminal is left out.
    """
    mistakes = [*check_ends(parts), *check_voltages(parts)]
    if all(None not in item.ends for item in parts.of(*NODE_MAKERS)):
        mistakes += [*check_sources(parts), *check_dead_ends(parts), *check_clocks(parts)]
    return mistakes


def check_ends(parts: Parts) -> Iterator[str]:
    """No link begins and ends at one node."""
    for item in parts.of(*LINKS):
        if item.ends[0] is not None and item.ends[0] == item.ends[1]:
            yield (f"{item.path}.to = {show(item.ends[1])}: must not be the node it starts from. Name the "
                   "node at the other end.")


def check_voltages(parts: Parts) -> Iterator[str]:
    """Rated voltages joined without a transformer match."""
    said = list_statements(parts)
    for zone in find_zones(parts.items):
        here = [one for one in said if one.node in zone]
        for one in here[1:]:
            apart = abs(one.kv / here[0].kv - 1.0)
            if apart > VOLTAGE_APART:
                yield (f"{one.path} = {one.kv:g}: {100.0 * apart:.0f} % from {here[0].path} = "
                       f"{here[0].kv:g}, joined without a transformer. {advise_voltages(one, here[0])}")
        yield from check_um(parts, zone, here)


def advise_voltages(one: Statement, other: Statement) -> str:
    """What to do about two voltages that do not match: one of them may be that to earth."""
    low, high = sorted((one, other), key=lambda statement: statement.kv)
    if abs(sqrt(3.0) * low.kv / high.kv - 1.0) < TO_EARTH:
        return (f"{low.path} looks like a voltage to earth: did you mean {high.kv:g}, the voltage between lines?")
    return "Correct one of the two or put a transformer between them."


def check_um(parts: Parts, zone: list[str], said: list[Statement]) -> Iterator[str]:
    """The highest voltage for equipment is not below the nominal voltage that follows from the equipment."""
    for item in parts.of("node"):
        node = item.table
        if item.name in zone and said and node.nominal_kv is None and node.um_kv and node.um_kv < said[0].kv:
            yield (f"{item.path}.um_kv = {node.um_kv:g}: must be >= the nominal voltage {said[0].kv:g} kV by "
                   f"{said[0].path}. Give the highest voltage for equipment, line-to-line RMS.")


def check_sources(parts: Parts) -> Iterator[str]:
    """Every island has one source, or several grids of one frequency."""
    for island in find_islands(parts.items):
        sources = [item for item in parts.of(*SOURCES) if item.ends[0] in island]
        if not sources:
            yield tell_sourceless(island, parts)
        drives = [item for item in sources if item.kind == "drive"]
        names = ", ".join(item.path for item in sources)
        if drives and len(sources) > 1:
            yield (f"{names}: a drive shares its island with another source, breakers counted closed. Feed "
                   "each island by one drive, or by grids only.")
        elif len({item.table.frequency_hz for item in sources if item.table.frequency_hz}) > 1:
            values = ", ".join(f"{item.path}.frequency_hz = {item.table.frequency_hz:g}" for item in sources)
            yield (f"{values}: sources of one island must have one frequency. Correct them or separate the "
                   "island.")


def tell_sourceless(island: list[str], parts: Parts) -> str:
    """Mistake of an island without a source; a drive does not feed the front end of another."""
    others = [node for node in list_nodes(parts.items) if node not in island]
    members = [item.path for item in parts.of(*NODE_MAKERS) if item.ends[0] in island]
    members += [f"{item.path}.front_end" for item in parts.items if item.drawn in island]
    near = next((word for node in island if (word := suggest(node, others))), None)
    advice = f"Did you mean node {near}? " if near else ""
    source = "[[grid]]" if any(item.drawn in island for item in parts.items) else "[[grid]] or [[drive]]"
    return (f"node {', '.join(island)}: no source feeds {', '.join(members)}, even with all breakers closed. "
            f"{advice}Add a {source}, or join them to a fed node.")


def check_dead_ends(parts: Parts) -> Iterator[str]:
    """A breaker has to lead somewhere, unless its far node is declared on purpose."""
    declared = {item.name for item in parts.of("node")}
    for item in parts.of("breaker"):
        for key, end in zip(("from", "to"), item.ends):
            if (idle := tell_idle(item, end, parts)) and end not in declared:
                known = [node for node in list_nodes(parts.items) if node not in item.ends]
                yield (f"{item.path}.{key} = {show(end)}: the breaker leads nowhere, {idle} to this node. "
                       f"{ask(end, known, 'nodes')} Declare it as [[node]] if it is open on purpose.")


def tell_idle(item: Item, node: str, parts: Parts) -> str:
    """"nothing else is joined", with what stands at a node beside a component and carries no current in service.

    Empty where a current passes.
    """
    others = [other for other in list_at_node(parts.items, node) if other is not item]
    if any(other.row.has_service for other in others):
        return ""
    return f"nothing but {', '.join(other.name for other in others)} is joined" if others else "nothing else is joined"


def list_steps(parts: Parts) -> list[tuple[Any, str, str, float, int]]:
    """Links that close a loop as they stand: (item, from, to, ln of the voltage ratio, clock number)."""
    closing = {item.table.target for item in parts.of("event") if item.table.action == "close"}
    off = {item.name for item in parts.items if item.row.closed and not getattr(item.table, item.row.closed)} - closing
    steps = [(joint.member, joint.one, joint.other, 0.0, 0) for joint in list_joints(parts.items, off)
             if not joint.member.row.has_turns]
    for item in parts.of("transformer"):
        values = item.table
        if None not in (values.from_kv, values.to_kv, values.tap_pct, values.vector_group):
            ratio = log(values.to_kv / (values.from_kv * (1.0 + values.tap_pct / 100.0)))
            steps.append((item, *item.ends, ratio, split_group(values.vector_group)[2]))
    return steps


def walk_loops(parts: Parts) -> Iterator[tuple[Item, float, int]]:
    """Every link that closes a loop, with the ln of ratio and the clock number left over around the loop."""
    steps = list_steps(parts)
    level: dict[str, tuple[float, int]] = {}
    used: set[int] = set()
    for start in list_nodes(parts.items):
        if start in level:
            continue
        level[start], waiting = (0.0, 0), [start]
        while waiting:
            node = waiting.pop()
            for k, (item, one, other, ratio, clock) in enumerate(steps):
                if k in used or node not in (one, other):
                    continue
                used.add(k)
                sign, far = (1, other) if node == one else (-1, one)
                reached = level[node][0] + sign * ratio, (level[node][1] + sign * clock) % 12
                if far not in level:
                    level[far] = reached
                    waiting.append(far)
                else:
                    yield item, abs(level[far][0] - reached[0]), (level[far][1] - reached[1]) % 12


def check_clocks(parts: Parts) -> Iterator[str]:
    """Transformers around a loop add up to no phase shift."""
    for item, _, clock in walk_loops(parts):
        if clock:
            yield (f"{item.path}: closes a loop whose transformers differ by {30 * min(clock, 12 - clock)} "
                   "degrees. Give parallel transformers vector groups of one clock number.")


def find_ratio_warnings(parts: Parts) -> list[str]:
    """Warnings about loops whose transformer ratios do not agree."""
    return [f"{item.path}: closes a loop whose transformer ratios differ by {100.0 * ratio:.2g} %, a current "
            "circulates"
            for item, ratio, _ in walk_loops(parts) if ratio > RATIO_APART]
