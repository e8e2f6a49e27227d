"""Checks of drives: their stretches and overload curve, and the node of their front end."""

from collections.abc import Iterator

from sim.case.read.messages import ask, show
from sim.case.read.validation import Parts
from sim.case.voltages import VOLTAGE_APART, Statement, find_nominal
from sim.components.fields import Read
from sim.topology import find_islands, list_nodes


def check_control(path: str, drive: Read) -> Iterator[str]:
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


def check_front_voltage(path: str, front: Read, said: Statement | None) -> Iterator[str]:
    """The rated voltage of a front end is that of its node."""
    if said is None or not front.rated_kv:
        return
    apart = abs(front.rated_kv / said.kv - 1.0)
    if apart > VOLTAGE_APART:
        yield (f"{path}.rated_kv = {front.rated_kv:g}: {100.0 * apart:.0f} % from {said.path} = {said.kv:g}, at the "
               "same node. Give the voltage of the node; bridge_kv is that behind the front end's own transformer.")
