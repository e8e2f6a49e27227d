"""Nodes along a cable: the joints of its sections and the faults on it."""

from typing import NamedTuple

from sim.case.read.validation import Item, Parts
from sim.components.fields import Read, given
from sim.units import Record

JOINT, FAULTED = "{}.joint_{}", "{}.{}"
CLOSEST_KM = 1e-3       # what is closer than this is one place [km]


class CablePoint(NamedTuple):
    """A node along a cable and its distance from the near end [km]."""

    node: str
    km: float


def list_joints(item: Item) -> list[str]:
    """Names of the nodes between the sections of a cable."""
    return [JOINT.format(item.name, k) for k in range(1, len(item.table.section))]


def find_length(cable: Read) -> float | None:
    """Length of a cable with or without sections, None where it is not known. [km]"""
    lengths = [section.length_km if section is not None else None for section in cable.section] or [cable.length_km]
    known = [length for length in lengths if length is not None]
    return sum(known) if len(known) == len(lengths) else None


def list_points(item: Item, parts: Parts) -> list[CablePoint]:
    """Points of a cable from near to far.

    A fault makes a node named after cable and fault, unless a joint or an earlier fault of the file is at its place.
    """
    lengths = [section.length_km for section in item.table.section]
    points = [CablePoint(node, sum(lengths[:k])) for k, node in enumerate(list_joints(item), start=1)]
    for fault in parts.of("fault"):
        if fault.table.cable == item.name and find_near(points, fault.table.at_km) is None:
            points.append(CablePoint(FAULTED.format(item.name, fault.name), fault.table.at_km))
    return sorted(points, key=lambda point: point.km)


def find_near(points: list[CablePoint], km: float) -> CablePoint | None:
    """The point at a place, None where there is none."""
    return next((point for point in points if abs(point.km - km) < CLOSEST_KM), None)


def find_fault_node(fault: Item, parts: Parts) -> str:
    """The node a fault is at."""
    if fault.table.cable is None:
        return str(fault.table.node)
    cable = next(item for item in parts.of("cable") if item.name == fault.table.cable)
    return given(find_near(list_points(cable, parts), fault.table.at_km)).node


def cut_sections(sections: list[Record], points: list[CablePoint]) -> list[Record]:
    """Sections cut at the points within them."""
    pieces, start = [], 0.0
    for section in sections:
        end = start + section.length_m / 1e3
        within = [point.km for point in points if start + CLOSEST_KM / 2 < point.km < end - CLOSEST_KM / 2]
        pieces += [section] if not within else [
            Record(**{**vars(section), "length_m": 1e3 * (far - near)})
            for near, far in zip([start, *within], [*within, end])]
        start = end
    return pieces
