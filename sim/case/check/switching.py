"""Checks within one component of what switches, what protects and what goes wrong: poles, neutrals, curves, faults."""

from collections.abc import Iterator
from itertools import pairwise
from math import sqrt

from sim.case.read.messages import show
from sim.components.at_nodes.arrester import CURVE
from sim.components.branches.breaker import INSERTION
from sim.components.branches.transformer import NEUTRALS, split_group
from sim.components.fields import Read


def is_known(*values: object) -> bool:
    """Whether none of the values is missing or wrong."""
    return all(value is not None for value in values)


def check_breaker(path: str, breaker: Read) -> Iterator[str]:
    yield from check_pair(path, breaker, INSERTION, "A closing resistor needs both its resistance and its time.")
    start, most = breaker.recovery_start_kv, breaker.recovery_most_kv
    if is_known(start, most) and most < start:
        yield (f"{path}.recovery_most_kv = {show(most)}: must be >= recovery_start_kv = {start:g}, which the gap "
               "stands from the first. Correct one of the two.")


def check_pair(path: str, table: Read, keys: tuple[str, str], reason: str) -> Iterator[str]:
    """Two keys that are given together or not at all."""
    for key, other in (keys, keys[::-1]):
        if key in table.model_fields_set and other not in table.model_fields_set:
            yield f"{path}.{other}: missing, {key} is given. {reason} Add {other} or remove {key}."


def check_grid(path: str, grid: Read) -> Iterator[str]:
    if grid.earthed is False:
        yield from check_neutral(path, grid, ("neutral_resistance_ohm", "neutral_reactance_ohm"),
                                 "earthed = false leaves the neutral open", "write earthed = true")


def check_neutrals(path: str, transformer: Read) -> Iterator[str]:
    """An impedance stands in a neutral that is brought out."""
    if not is_known(transformer.vector_group):
        return
    for winding, end in zip(split_group(transformer.vector_group)[:2], ("from", "to")):
        if winding.upper() != "YN":
            yield from check_neutral(path, transformer, [key for key in NEUTRALS if key.startswith(end)],
                                     f"the {winding} winding of vector_group = {show(transformer.vector_group)} has no "
                                     "neutral to earth", f"give the winding as {'YN' if end == 'from' else 'yn'}")


def check_neutral(path: str, table: Read, keys: tuple | list, reason: str, remedy: str) -> Iterator[str]:
    for key in keys:
        if getattr(table, key):
            yield f"{path}.{key} = {show(getattr(table, key))}: {reason}. Remove it or {remedy}."


def check_core(path: str, transformer: Read) -> Iterator[str]:
    """A bank has no zero sequence of its own."""
    if transformer.core == "bank" and is_known(transformer.zero_magnetising_pct):
        yield (f"{path}.zero_magnetising_pct = {show(transformer.zero_magnetising_pct)}: the units of a bank magnetise "
               'alike in every sequence. Remove it or write core = "three_limb".')


def check_arrester(path: str, arrester: Read) -> Iterator[str]:
    rated, continuous, residual = arrester.rated_kv, arrester.continuous_kv, arrester.residual_kv
    if is_known(rated, continuous) and continuous > rated:
        yield (f"{path}.continuous_kv = {show(continuous)}: must be <= rated_kv = {rated:g}, commonly 0.8 of it. "
               "Correct one of the two.")
    if is_known(rated, residual) and residual <= sqrt(2.0) * rated:
        yield (f"{path}.residual_kv = {show(residual)}: must be > {sqrt(2.0) * rated:.4g}, the crest of rated_kv = "
               f"{rated:g}. Give the residual voltage at 10 kA as a peak.")
    if is_known(residual) and set(CURVE) <= arrester.model_fields_set:
        yield f"{path}.residual_kv = {show(residual)}: follows from curve_a and curve_kv. Keep one of the two."
    yield from check_curve(path, arrester)


def check_curve(path: str, arrester: Read) -> Iterator[str]:
    """A curve has as many voltages as currents, two or more, and ascends in both."""
    yield from check_pair(path, arrester, CURVE, "A curve has a voltage for each current.")
    values = [getattr(arrester, key) for key in CURVE]
    if is_known(*values) and len(values[0]) != len(values[1]):
        yield (f"{path}.curve_kv: holds {len(values[1])} numbers, curve_a holds {len(values[0])}. Give one voltage for "
               "each current.")
    for key, points in zip(CURVE, values):
        if is_known(points) and len(points) < 2:
            yield f"{path}.{key} = {show(points)}: must hold 2 numbers or more. Add the points of the curve."
        elif is_known(points) and any(after <= before for before, after in pairwise(points)):
            yield f"{path}.{key} = {show(points)}: must ascend. Sort the points by current, each value once."


def check_fault(path: str, fault: Read) -> Iterator[str]:
    yield from check_place(path, fault)
    if fault.earth is False and is_known(fault.phases):
        if len(fault.phases) == 1:
            yield (f"{path}.earth = false: phase {fault.phases} alone joins nothing without earth. Write earth = true "
                   'or name two phases or more, such as phases = "ab".')
        if fault.earth_resistance_ohm:
            yield (f"{path}.earth_resistance_ohm = {show(fault.earth_resistance_ohm)}: means nothing with earth = "
                   "false. Remove it or write earth = true.")
    if is_known(fault.at_s, fault.clear_s) and fault.clear_s <= fault.at_s:
        yield (f"{path}.clear_s = {show(fault.clear_s)}: must be > at_s = {fault.at_s:g}. Give the time at which the "
               "fault clears, counted from the start of the run.")


def check_place(path: str, fault: Read) -> Iterator[str]:
    """A fault is at a node or along a cable."""
    given = fault.model_fields_set
    if {"node", "cable"} <= given:
        yield f"{path}: node and cable are given. Keep node for a fault at a node, cable and at_km for one on a cable."
    elif "cable" in given and "at_km" not in given:
        yield f"{path}.at_km: missing. Add at_km = a number in km, the distance from the `from` end of the cable."
    elif "node" in given and "at_km" in given:
        yield f"{path}.at_km = {show(fault.at_km)}: belongs to a fault on a cable. Remove it or give cable, not node."
    elif not {"node", "cable"} & given:
        yield f"{path}: no place given. Add node = the node the fault is at, or cable and at_km for one on a cable."
