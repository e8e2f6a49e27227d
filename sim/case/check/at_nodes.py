"""Checks of what stands at a place that others make: arresters and reactors at nodes, faults, random closings."""

from collections import Counter
from collections.abc import Iterator
from math import sqrt

from sim.case.check.names import list_components
from sim.case.check.network import advise_voltages
from sim.case.read.messages import ask, show
from sim.case.read.validation import Item, Parts
from sim.case.records.cable_joints import CLOSEST_KM, FAULTED, find_length, list_joints
from sim.case.voltages import VOLTAGE_APART, Statement, find_nominal
from sim.components.at_nodes.arrester import CONTINUOUS_SHARE
from sim.components.fields import Read
from sim.components.kinds import AT_MADE_NODES
from sim.topology import list_nodes


def check_places(parts: Parts) -> list[str]:
    """Mistakes of places and references, one sentence each."""
    return [*check_at_made_nodes(parts), *check_arresters(parts), *check_reactors(parts), *check_faults(parts),
            *check_shots(parts)]


def check_at_made_nodes(parts: Parts) -> Iterator[str]:
    """Arresters, reactors and faults stand at nodes that there are."""
    known = list_nodes(parts.items)
    for item in parts.of(*AT_MADE_NODES):
        node = item.table.node
        if node is not None and node not in known:
            yield (f"{item.path}.node = {show(node)}: no such node; a {item.kind} alone does not make one. "
                   f"{ask(node, known, 'nodes')}")


def check_arresters(parts: Parts) -> Iterator[str]:
    """An arrester carries the service voltage to earth for ever."""
    nominal = find_nominal(parts)
    for item in parts.of("arrester"):
        said, key, continuous = nominal.get(item.table.node), *find_continuous(item.table)
        if said is not None and continuous is not None and continuous < (1.0 - 1e-9) * said.kv / sqrt(3.0):
            share = "" if key == "continuous_kv" else f"continuous_kv is {continuous:g} ({CONTINUOUS_SHARE:g} of it), "
            yield (f"{item.path}.{key} = {show(getattr(item.table, key))}: {share}an arrester rated under the service "
                   f"voltage; it must bear {said.kv / sqrt(3.0):.4g} kV to earth all the time, by {said.path} = "
                   f"{said.kv:g}. Choose an arrester of higher rating.")


def find_continuous(arrester: Read) -> tuple[str, float | None]:
    """Continuous operating voltage [kV] and the key it follows from; None where it is not known."""
    if "continuous_kv" in arrester.model_fields_set:
        return "continuous_kv", arrester.continuous_kv
    return "rated_kv", None if arrester.rated_kv is None else CONTINUOUS_SHARE * arrester.rated_kv


def check_reactors(parts: Parts) -> Iterator[str]:
    """A reactor is rated for the voltage of its node."""
    nominal = find_nominal(parts)
    for item in parts.of("reactor"):
        said, rated = nominal.get(item.table.node), item.table.rated_kv
        if said is not None and rated is not None and abs(rated / said.kv - 1.0) > VOLTAGE_APART:
            own = Statement(item.table.node, rated, f"{item.path}.rated_kv", 3)
            apart = 100.0 * abs(rated / said.kv - 1.0)
            yield (f"{own.path} = {rated:g}: {apart:.0f} % from {said.path} = {said.kv:g}, joined without a "
                   f"transformer. {advise_voltages(own, said)}")


def check_faults(parts: Parts) -> Iterator[str]:
    duration = parts.single["study"].duration_s
    for item in parts.of("fault"):
        at = item.table.at_s
        if at is not None and duration is not None and at > duration:
            yield (f"{item.path}.at_s = {show(at)}: must be <= study.duration_s = {duration:g}. Move the fault or "
                   "lengthen the study.")
        if item.table.cable is not None:
            yield from check_cable_fault(item, parts)


def check_cable_fault(item: Item, parts: Parts) -> Iterator[str]:
    """A fault along a cable lies on one, and makes a node of a name of its own."""
    cables = {cable.name: cable for cable in parts.of("cable") if cable.name}
    cable = cables.get(item.table.cable)
    if cable is None:
        yield from tell_stranger(f"{item.path}.cable", item.table.cable, "cable", parts)
        return
    length, at = find_length(cable.table), item.table.at_km
    if length is not None and at is not None and not CLOSEST_KM <= at <= length - CLOSEST_KM:
        ends = " or ".join(f"node = {show(end)}" for end in cable.ends if end)
        yield (f"{item.path}.at_km = {show(at)}: must be > 0 and < {length:g}, the length of {cable.path}, 1 m from "
               f"its ends at least. Correct the distance; at an end give {ends}, not cable and at_km.")
    if FAULTED.format(cable.name, item.name) in list_joints(cable):
        yield (f"{item.path}: {cable.path} has a joint of this name between its sections. Choose another name, such as "
               f"{item.name}_fault.")


def tell_stranger(path: str, name: str, wanted: str, parts: Parts) -> Iterator[str]:
    """Sentence for a name that is none of a kind."""
    kinds = [item.kind for item in list_components(parts) if item.name == name]
    if wanted not in kinds:
        known = [item.name for item in parts.of(wanted) if item.name]
        what = f"is a {kinds[0]}, not a {wanted}" if kinds else f"no {wanted} of this name"
        yield f"{path} = {show(name)}: {what}. {ask(name, known, f'{wanted}s')}"


def check_shots(parts: Parts) -> Iterator[str]:
    """Random closings have a breaker that is told to close, and cables to leave a charge on."""
    shots = parts.single.get("shots")
    if shots is None:
        return
    if shots.breaker is not None:
        yield from tell_stranger("shots.breaker", shots.breaker, "breaker", parts)
        yield from check_order(shots, parts)
    duration = parts.single["study"].duration_s
    if shots.at_s is not None and duration is not None and shots.at_s > duration:
        yield (f"shots.at_s = {show(shots.at_s)}: must be <= study.duration_s = {duration:g}. Move the closings or "
               "lengthen the study.")
    yield from check_trapped(shots, parts)


def check_order(shots: Read, parts: Parts) -> Iterator[str]:
    """Someone says when the breaker closes."""
    is_breaker = shots.breaker in [item.name for item in parts.of("breaker")]
    if is_breaker and "at_s" not in shots.model_fields_set and not is_closed_by_event(shots.breaker, parts):
        yield (f"shots.breaker = {show(shots.breaker)}: no event closes it. Add shots.at_s, the time from which it may "
               f'close, or an [[event]] with action = "close".')


def is_closed_by_event(name: str, parts: Parts) -> bool:
    """Whether a breaker ever gets an order to close, be its time sound or not."""
    return any(item.table.action == "close" and item.table.target == name for item in parts.of("event"))


def check_trapped(shots: Read, parts: Parts) -> Iterator[str]:
    names = shots.trapped_cables
    for number, name in enumerate(names or [], start=1):
        yield from tell_stranger(f"shots.trapped_cables[{number}]", name, "cable", parts)
    for name, count in Counter(names or []).items():
        if count > 1:
            yield f"shots.trapped_cables: names {name} {count} times. Name each cable once."
    if shots.trapped_most_pu and names == []:
        yield (f"shots.trapped_most_pu = {show(shots.trapped_most_pu)}: no cable is named to leave the charge on. Add "
               "trapped_cables, a list of names of cables.")
