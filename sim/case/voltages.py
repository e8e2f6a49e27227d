"""What the case says about the voltage and the frequency of every node."""

from dataclasses import dataclass

from sim.case.read.validation import Parts
from sim.components.kinds import SOURCES
from sim.topology import find_islands, find_zones, read

VOLTAGE_APART = 0.15    # share by which rated voltages joined without a transformer may differ


@dataclass(frozen=True)
class Statement:
    """What a value of the case says about the voltage of a node; the least rank is believed first."""

    node: str
    kv: float
    path: str
    rank: int


def list_statements(parts: Parts) -> list[Statement]:
    """All that the case says about voltages, most trusted first."""
    said = [Statement(getattr(item.table, node), read(item.table, key), f"{item.path}.{key}", item.row.rank)
            for item in parts.items for node, key in item.row.volts.items()]
    return sorted((one for one in said if one.kv is not None and one.node), key=lambda one: one.rank)


def find_nominal(parts: Parts) -> dict[str, Statement]:
    """For each node the statement that sets its nominal voltage; a zone without any is left out."""
    said = list_statements(parts)
    nominal: dict[str, Statement] = {}
    for zone in find_zones(parts.items):
        for one in reversed([one for one in said if one.node in zone]):
            nominal |= dict.fromkeys(zone, one)
    return nominal | {one.node: one for one in reversed(said) if one.rank == 0 and one.node in nominal}


def find_frequencies(parts: Parts) -> dict[str, float]:
    """For each node the rated frequency of its island's source. [Hz]"""
    return {node: next(item.table.frequency_hz for item in parts.of(*SOURCES) if item.ends[0] in island)
            for island in find_islands(parts.items) for node in island}
