"""How the components of a case hang together: islands, zones, ways and what is fed, by the table of kinds.

Every function works on members: the items of a case file or the records of a checked case.
"""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from sim.components.kinds import ROWS, Kind


@dataclass(frozen=True)
class Member:
    """A component of the network: its kind and its table, as the case file has it or as a record in SI."""

    kind: str
    table: Any

    @property
    def row(self) -> Kind:
        """What its kind is to the network."""
        return ROWS[self.kind]

    @property
    def name(self) -> Any:
        """Its name, None where it has none."""
        return getattr(self.table, "name", None)

    @property
    def ends(self) -> tuple[Any, ...]:
        """Nodes it stands at; None for one that is not known, such as that of a fault along a cable."""
        return tuple(getattr(self.table, field) for field in self.row.terminals)

    @property
    def drawn(self) -> Any:
        """Node of another island from which it takes its power, None where it takes none."""
        return read(self.table, self.row.draws_at) if self.row.draws_at else None


class Joint(NamedTuple):
    """Two nodes between which current passes, and through which member."""

    one: str
    other: str
    member: Member


def read(table: Any, path: str) -> Any:
    """Value at a dotted path, None where a table on the way is absent."""
    for key in path.split("."):
        table = getattr(table, key, None)
    return table


def list_members(case: Any) -> list[Member]:
    """All records of a checked case that are joined to nodes."""
    first = {row.records: kind for kind, row in reversed(ROWS.items()) if row.is_component}
    return [Member(kind, record) for kind in ROWS if first.get(ROWS[kind].records) == kind
            for record in getattr(case, ROWS[kind].records, ())]


def list_nodes(members: Iterable[Member]) -> list[str]:
    """Names of the nodes that members make, in the order of the members."""
    return list(dict.fromkeys(end for member in members if member.row.makes_nodes for end in member.ends
                              if end is not None))


def list_joints(members: Iterable[Member], off: Collection[str] = ()) -> list[Joint]:
    """What carries current between two known nodes; switches count as closed but for those called in `off`."""
    return [Joint(member.ends[0], member.ends[1], member) for member in members
            if member.row.carries and None not in member.ends and member.name not in off]


def list_at_node(members: Iterable[Member], node: str) -> list[Member]:
    """All that stands at a node, front ends of drives elsewhere among it."""
    return [member for member in members if node in (*member.ends, member.drawn)]


def group(names: Iterable[str], pairs: Iterable[Sequence[str]]) -> list[list[str]]:
    """Names that hang together over pairs, the groups and their members in the order of the names."""
    root = {name: name for name in names}

    def find(name: str) -> str:
        while root[name] != name:
            name = root[name]
        return name

    for one, other in pairs:
        root[find(other)] = find(one)
    groups: dict[str, list[str]] = {}
    for name in root:
        groups.setdefault(find(name), []).append(name)
    return list(groups.values())


def find_islands(members: Sequence[Member]) -> list[list[str]]:
    """Nodes of each island: what hangs together with all switches closed."""
    return group(list_nodes(members), [joint[:2] for joint in list_joints(members)])


def find_zones(members: Sequence[Member]) -> list[list[str]]:
    """Nodes of each zone of one rated voltage: what hangs together without a transformer."""
    return group(list_nodes(members), [joint[:2] for joint in list_joints(members) if joint.member.row.keeps_voltage])


def list_sources(members: Iterable[Member], off: Collection[str] = ()) -> list[Member]:
    """Members that feed a node, but for those called in `off`."""
    return [member for member in members if member.row.feeds and member.name not in off]


def order_nodes(members: Sequence[Member]) -> list[str]:
    """Nodes in the order in which the sources reach them."""
    joints = list_joints(members)
    ordered = list(dict.fromkeys(member.ends[0] for member in list_sources(members)))
    for node in ordered:
        ordered += dict.fromkeys(far for joint in joints if node in joint[:2] for far in joint[:2]
                                 if far not in ordered)
    return ordered


def trace_ways(members: Sequence[Member], start: str, off: Collection[str] = ()) -> dict[str, list[Member]]:
    """Members between a node and every node it reaches, in order, over the fewest of them."""
    joints = list_joints(members, off)
    ways: dict[str, list[Member]] = {start: []}
    waiting = [start]
    for node in waiting:
        for one, other, member in joints:
            far = {one: other, other: one}.get(node)
            if far is not None and far not in ways:
                ways[far] = [*ways[node], member]
                waiting.append(far)
    return ways


def find_first_off(members: Iterable[Member], events: Iterable[Any]) -> set[str]:
    """Names of what neither carries nor feeds at the start: open breakers, drives that wait for their order."""
    ordered = {(event.action, event.target) for event in events}
    return {member.name for member in members if not is_on_at_start(member, ordered)}


def is_on_at_start(member: Member, ordered: Collection[tuple[str, str]]) -> bool:
    """First position of a member; `ordered` holds (action, target) of all events."""
    if member.row.closed:
        return bool(getattr(member.table, member.row.closed))
    return (member.row.turned_on, member.name) not in ordered


def turn(off: set[str], members: Iterable[Member], action: str, target: str | None) -> None:
    """Bring the names of what is off to the state after an order, a pole or a trip."""
    for member in members:
        if member.name == target and action in (member.row.turned_on, *member.row.turned_off):
            (off.discard if action == member.row.turned_on else off.add)(member.name)


def find_feeders(members: Sequence[Member], off: Collection[str] = ()) -> dict[str, str]:
    """Name of the source of every fed node; what is called in `off` neither carries nor feeds."""
    fed: dict[str, str] = {}
    for source in list_sources(members, off):
        if source.ends[0] not in fed:
            fed |= dict.fromkeys(trace_ways(members, source.ends[0], off), source.name)
    return fed


def find_off_when_fed(members: Sequence[Member], events: Iterable[Any], node: str) -> set[str] | None:
    """Names of what is off as a node first gets voltage, by the orders of the case; None where it never does."""
    events = list(events)
    off = find_first_off(members, events)
    for event in sorted(events, key=lambda event: event.at_s):
        if node in find_feeders(members, off):
            break
        turn(off, members, event.action, event.target)
    return off if node in find_feeders(members, off) else None


def find_supplying(members: Sequence[Member], nodes: Iterable[str]) -> set[str]:
    """Nodes of the islands of some nodes and of every island that feeds those through a front end."""
    islands = {node: island for island in find_islands(members) for node in island}
    found: set[str] = set()
    waiting = list(nodes)
    while waiting:
        here = islands.get(waiting.pop(), [])
        if found.isdisjoint(here):
            found.update(here)
            waiting += [member.drawn for member in members if member.drawn is not None and member.ends[0] in here]
    return found
