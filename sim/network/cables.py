"""Oscillators of the cables of a network, sized for their bands."""

from typing import TYPE_CHECKING, Any

import numpy as np

from sim.params.cable.modes import cable_modes, count_modes

if TYPE_CHECKING:
    from sim.network.parts import Parts

# Cables are sized for this multiple of their band, so that a closing front that rises within half a period of the band
# travels without visible dispersion (tests/physics/waves/test_fronts.py).
FRONT_MARGIN = 2.0
# A Foster branch of this share of the DC resistance fills up the shorter of two lists.
IDLE_SHARE = 1e-12


def size_cables(parts: "Parts", bands: np.ndarray, error: float) -> None:
    """Give every cable its oscillators in both sequences.

    One that would need more than MOST_MODES becomes several of equal length, joined at nodes within it.

    Parameters
    ----------
    parts : Parts
        Changed in place: its cables, what they leave at their ends, and the nodes where they are divided.
    bands : ndarray, shape (K,)
        [Hz]
    error : float
        As `count_modes` takes it.
    """
    divided = [_divide(parts, cable, FRONT_MARGIN * band, error) for cable, band in zip(parts.cables, bands)]
    firsts = np.cumsum([0, *map(len, divided)])
    parts.cable_rows = [(name, int(firsts[first]), int(firsts[last + 1]) - 1) for name, first, last in parts.cable_rows]
    parts.cables = [piece for pieces in divided for piece in pieces]
    for piece in parts.cables:
        for node in (piece["start"], piece["end"]):
            for row, modes in enumerate((piece["positive"], piece["zero"])):
                parts.node_c[node][row] += modes.end_capacitance
                parts.node_g[node][row] += modes.end_capacitance * modes.shunt_rate


def _divide(parts: "Parts", cable: dict, band: float, error: float) -> list[dict]:
    """A cable in as many pieces as its oscillators ask for."""
    section, start, end = cable["section"], cable["start"], cable["end"]
    pairs = pair_branches(section.positive, section.zero)
    pieces, count = 1, None
    while count is None:
        lines = [list_line(section.length_m / pieces, line) for line in (section.positive, section.zero)]
        counts = [count_modes(*line, band, error, branches) for line, branches in zip(lines, pairs)]
        count = None if None in counts else max(counts)
        pieces += count is None
    nodes = [start, *(_join(parts, f"{cable['name']}.{start}_{k}.within", start) for k in range(1, pieces)), end]
    positive, zero = (cable_modes(count, *line, branches) for line, branches in zip(lines, pairs))
    return [cable | dict(start=near, end=far, positive=positive, zero=zero) for near, far in zip(nodes, nodes[1:])]


def _join(parts: "Parts", name: str, near: int) -> int:
    """Node within a cable; its capacitance is that of the pieces."""
    parts.add_node(name, parts.node_volts[near], parts.node_island[near], 0.0)
    return len(parts.node_names) - 1


def list_line(length: float, line: Any) -> tuple[float, float, float, float, float]:
    """Length and constants of one sequence, as `sim.params.cable.modes` takes them."""
    return (length, line.resistance_ohm_per_m, line.inductance_h_per_m, line.capacitance_f_per_m,
            line.conductance_s_per_m)


def pair_branches(positive: Any, zero: Any) -> list[list[tuple[float, float]]]:
    """Foster branches of both sequences, the shorter list filled up with branches that do nothing."""
    lists = [list(zip(line.branch_resistance_ohm_per_m, line.branch_inductance_h_per_m)) for line in (positive, zero)]
    most = max(map(len, lists))
    return [pairs + [(IDLE_SHARE * line.resistance_ohm_per_m, line.inductance_h_per_m)] * (most - len(pairs))
            for pairs, line in zip(lists, (positive, zero))]
