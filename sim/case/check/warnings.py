"""Warnings: cases that can be simulated but are likely not what was meant."""

from collections.abc import Iterator

from sim.case.check.names import find_idle_events
from sim.case.check.network import find_ratio_warnings, tell_idle
from sim.case.check.switching_warnings import warn_switching
from sim.case.read.validation import Parts
from sim.case.voltages import find_nominal
from sim.components.kinds import SOURCES
from sim.components.machines.load import USED_BY, is_used
from sim.components.machines.motor import find_rated_slip, has_circuit
from sim.topology import find_islands

FREQUENCY_APART = 0.01      # share by which a motor's frequency may differ from its source's


def list_warnings(parts: Parts) -> list[str]:
    """All warnings of a case without mistakes."""
    found = [*warn_machines(parts), *warn_frequencies(parts), *warn_cables(parts), *warn_sources(parts)]
    return [*found, *warn_switching(parts), *find_ratio_warnings(parts), *find_idle_events(parts)]


def warn_machines(parts: Parts) -> Iterator[str]:
    if not parts.of("machine"):
        yield "no machine in the case: no start is judged"
    for item in parts.of("machine"):
        motor, load = item.table.motor, item.table.load
        if has_circuit(motor) and find_rated_slip(motor) is None:
            yield (f"{item.path}.motor.circuit: gives less than rated_kw = {motor.rated_kw:g} at any speed "
                   "at rated voltage, check the base of the per-unit values")
        for key in USED_BY:
            if key in load.model_fields_set and not is_used(key, load.kind):
                yield f"{item.path}.load.{key}: means nothing for kind = \"{load.kind}\" and is left out"


def warn_frequencies(parts: Parts) -> Iterator[str]:
    for island in find_islands(parts.items):
        source = next(item for item in parts.of(*SOURCES) if item.ends[0] in island)
        for item in parts.of("machine"):
            own, rated = item.table.motor.frequency_hz, source.table.frequency_hz
            if item.ends[0] in island and abs(own / rated - 1.0) > FREQUENCY_APART:
                yield f"{item.path}.motor.frequency_hz = {own:g}: {source.path} is rated {rated:g} Hz"


def warn_cables(parts: Parts) -> Iterator[str]:
    nominal = find_nominal(parts)
    for item in parts.of("cable"):
        said = nominal[item.ends[0]]
        if item.table.rated_kv and item.table.rated_kv < said.kv:
            yield f"{item.path}.rated_kv = {item.table.rated_kv:g}: below the {said.kv:g} kV of {said.path}"


def warn_sources(parts: Parts) -> Iterator[str]:
    for item in parts.of(*SOURCES):
        if idle := tell_idle(item, item.ends[0], parts):
            yield f"{item.path}: {idle.replace(' else', '')} to its node {item.ends[0]}"
