"""Drives: their own table, the stretches of the ramp, the direct-voltage link and the front end."""

from collections.abc import Iterator, Mapping

from sim.case.build.databook import Book
from sim.case.read.messages import ask, show
from sim.case.check.network import Statement, find_nominal
from sim.case.read.validation import Item, Parts
from sim.components.supply import drive as drives
from sim.components.supply import drive_supply
from sim.components.supply.drive_supply import DcLink
from sim.topology import find_islands, list_nodes
from sim.units import Record, convert

VOLTAGE_APART = 0.15        # share by which the rated voltage of a front end may differ from its node's


def build_drive(item: Item, nominal: Mapping[str, Statement], frequency: Mapping[str, float], book: Book) -> Record:
    """Record of a drive with `stretches`, `pulses`, `dc_link` and `front_end`, the last three None where it has none.

    Parameters
    ----------
    item : Item
    nominal : mapping of str to Statement
        What sets the nominal voltage of every node.
    frequency : mapping of str to float
        Rated frequency of every node's supply. [Hz]
    book : Book
    """
    table, path = item.table, item.path
    skip = tuple(name for name in drives.list_idle(table) if name not in table.model_fields_set)
    outer = book.enter_table(path, table, table.grade, drives.find_defaults(table), skip)
    stretches = [convert(book.enter_table(f"{path}.stretch[{k}]", stretch, None))
                 for k, stretch in enumerate(table.stretch, start=1)]
    front, link, bridge_kv = None, None, table.rated_kv
    if table.front_end is not None:
        node = table.front_end.node
        filled = drive_supply.find_front_defaults(table.front_end, table.rated_kv, nominal[node].kv)
        values = book.enter_table(f"{path}.front_end", table.front_end, table.grade, filled)
        bridge_kv = values["bridge_kv"]
        front = Record(**vars(convert(values)), frequency_hz=frequency[node])
    pulses = table.pulses and convert(book.enter_table(f"{path}.pulses", table.pulses, table.grade))
    if table.front_end is not None or table.dc_link is not None or pulses:
        filled = drive_supply.find_link_defaults(table.rated_kv, table.rated_kva, table.front_end, bridge_kv)
        link = convert(book.enter_table(f"{path}.dc_link", table.dc_link or DcLink(), table.grade, filled))
    return Record(**vars(convert(outer)), stretches=stretches, pulses=pulses, dc_link=link, front_end=front)


def check_control(path: str, drive: drives.Drive) -> Iterator[str]:
    """Mistakes within the table of a drive beyond the ranges of its values."""
    ends = [stretch.to_hz for stretch in drive.stretch or [] if stretch is not None]
    if None not in ends and any(later <= earlier for earlier, later in zip(ends, ends[1:])):
        yield f"{path}.stretch: to_hz = {show(ends)} must rise from stretch to stretch. Put them in order."
    if drive.front_end is not None and drive.front_end.pulses is not None and drive.front_end.pulses % 6:
        yield (f"{path}.front_end.pulses = {show(drive.front_end.pulses)}: must be a multiple of 6, the pulses of one "
               "three-phase bridge. Give 6, 12, 18, 24 or more.")
    currents, times = drive.overload_pct, drive.overload_s
    if currents is None or times is None:
        return
    if len(currents) != len(times):
        yield (f"{path}.overload_s = {show(times)}: must have as many values as overload_pct = {show(currents)}. "
               "Give a time for every current.")
    elif any(later <= earlier for earlier, later in zip(currents, currents[1:])) or any(i <= 100.0 for i in currents):
        yield (f"{path}.overload_pct = {show(currents)}: must rise and lie above 100, rated current. Put the points in "
               "order.")
    elif any(later > earlier for earlier, later in zip(times, times[1:])):
        yield f"{path}.overload_s = {show(times)}: must not rise with the current. Correct the points."


def check_front_ends(parts: Parts) -> Iterator[str]:
    """Every front end stands at a node that a grid feeds, of the voltage it is rated for."""
    islands = find_islands(parts.items)
    fed = {node for island in islands for node in island
           if any(item.ends[0] in island for item in parts.of("grid"))}
    for item in parts.of("drive"):
        front = item.table.front_end
        if front is None or front.node is None:
            continue
        path, known = f"{item.path}.front_end", list_nodes(parts.items)
        declared = [node.name for node in parts.of("node")]
        if front.node not in (*known, *declared):
            yield f"{path}.node = {show(front.node)}: no node of this name. {ask(front.node, known, 'nodes')}"
        elif front.node not in fed:
            yield (f"{path}.node = {show(front.node)}: no grid feeds this node, breakers counted closed. A front end "
                   "takes its power from a grid: name one of its nodes.")
        else:
            yield from check_front_voltage(path, front, find_nominal(parts).get(front.node))


def check_front_voltage(path: str, front: drive_supply.FrontEnd, said: Statement | None) -> Iterator[str]:
    """The rated voltage of a front end is that of its node."""
    apart = abs(front.rated_kv / said.kv - 1.0) if said and front.rated_kv else 0.0
    if apart > VOLTAGE_APART:
        yield (f"{path}.rated_kv = {front.rated_kv:g}: {100.0 * apart:.0f} % from {said.path} = {said.kv:g}, at the "
               "same node. Give the voltage of the node; bridge_kv is that behind the front end's own transformer.")
