"""Surges through the opening gaps of breakers: how fast bus and feeder swing through a gap that strikes.

A gap that breaks down joins both of its sides, which swing against each other through whatever inductance lies between
their capacitances.  The surges are the series resonances of the impedance that the gap sees, Z(j w), with cables as
exact lines and sources, windings and machines behind their leakage.  Near one of them Z = R + 2 j L (w - w_k); a step U
across the gap sends U / (w_k L) into it (residues of a Foster circuit; any text on network synthesis).  What has to be
held is the fastest surge that carries most of the largest current; those above it only sharpen its front.

The study's band says nothing of it: a gap with its strength given takes step and cables near it from here.
"""

from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np

from sim.network.cables import list_line, pair_branches
from sim.network.parts import Parts
from sim.params.cable.modes import exact_two_port

SHARE = 0.8             # of the largest surge current below which a surge is left out
FRONT = 4.0             # band that holds a surge's front, in multiples of its frequency
SLOWEST_HZ, FASTEST_HZ = 1e3, 4e6
POINTS = 2000           # of the search for resonances
MOST_HZ = 2e6           # band beyond which no gap is held: lumped strays say nothing of it


class Surge(NamedTuple):
    """Frequency of the fastest surge of a gap, the band that holds it, and why it is not held, None when it is. [Hz]

    `hz` is 0 where both sides do not swing.
    """

    hz: float
    band_hz: float
    reason: str | None = None


def find_surges(parts: Parts, breakers: Sequence[Any]) -> dict[str, Surge]:
    """Surges of every breaker whose gap has its strength given, by breaker.

    Parameters
    ----------
    parts : Parts
        Everything but the oscillators of its cables.
    breakers : sequence of records

    Returns
    -------
    surges : dict of str to Surge
        `band_hz` is the frequency needed by a gap.  All other breakers count as closed.

    Valid for
    ---------
    Linear iron, arresters open, positive sequence.

    Checked by
    ----------
    tests/network/test_gaps.py
    """
    racing = [breaker for breaker in breakers if breaker.recovery_rise_v_per_s is not None]
    if not racing:
        return {}
    s = 2j * np.pi * np.geomspace(SLOWEST_HZ, FASTEST_HZ, POINTS)
    y = nodal_matrices(parts, s)
    return {breaker.name: find_surge(parts, y, s, breaker) for breaker in racing}


def nodal_matrices(parts: Parts, s: np.ndarray) -> np.ndarray:
    """Admittances of all nodes at complex frequencies s [rad/s] with every switch open, shape (m, N, N). [S]"""
    n = len(parts.node_names)
    y = np.zeros((len(s), n, n), dtype=complex)
    diagonal = np.arange(n)
    y[:, diagonal, diagonal] = s[:, None] * np.array(parts.node_c)[:, 0] + np.array(parts.node_g)[:, 0]
    for link in parts.links:
        admittance = 1.0 / (link["r"][0] + s * link["l"][0] + link["s"][0] / s)
        weights = (link["start"], link["wf"]), (link["end"], link["wt"])
        ends = [(node, weight) for node, weight in weights if node >= 0]
        for p, wp in ends:
            for q, wq in ends:
                y[:, p, q] += np.conj(wp) * wq * admittance
    for machine in parts.machines:
        y[:, machine["node"], machine["node"]] += machine["gamma"][0, 0] / s
    for cable in parts.cables:
        section, start, end = cable["section"], cable["start"], cable["end"]
        line, pairs = list_line(section.length_m, section.positive), pair_branches(section.positive, section.zero)[0]
        a, b, _ = exact_two_port(s, *line, pairs)
        for p, q, admittance in ((start, start, a / b), (end, end, a / b), (start, end, -1.0 / b),
                                 (end, start, -1.0 / b)):
            y[:, p, q] += admittance
    return y


def find_surge(parts: Parts, y: np.ndarray, s: np.ndarray, breaker: Any) -> Surge:
    """Fastest surge of one gap."""
    y = y.copy()
    for switch in parts.switches:
        if switch["name"] != breaker.name and switch["end"] >= 0:
            for p, q, sign in ((0, 0, 1.0), (1, 1, 1.0), (0, 1, -1.0), (1, 0, -1.0)):
                ends = switch["start"], switch["end"]
                y[:, ends[p], ends[q]] += sign * switch["g"]
    across = np.zeros(len(parts.node_names))
    across[parts.node(breaker.from_node)], across[parts.node(breaker.to_node)] = 1.0, -1.0
    seen = np.linalg.solve(y, np.broadcast_to(across[:, None], (len(s), len(across), 1)))[..., 0] @ across
    w, x = s.imag, seen.imag                # a reactance rises through its zeros and falls through its poles (Foster)
    rising = np.flatnonzero((x[:-1] < 0.0) & (x[1:] >= 0.0))
    if not len(rising):
        return Surge(0.0, 0.0)
    slope = (x[rising + 1] - x[rising]) / (w[rising + 1] - w[rising])
    at = w[rising] - x[rising] / slope
    amps = 2.0 / (at * slope)
    hz = float(at[amps >= SHARE * amps.max()].max()) / (2.0 * np.pi)
    reason = None
    if FRONT * hz > MOST_HZ:
        reason = (f"the gap's own surge of {hz / 1e3:.3g} kHz is beyond what is resolved: give the strays of its nodes "
                  f"(stray_nf)")
    return Surge(hz, FRONT * hz, reason)


def raise_bands(parts: Parts, surges: dict[str, Surge], bands: np.ndarray, factor: float) -> np.ndarray:
    """Bands of all cables, those near a gap as high as its surge needs, shape (K,). [Hz]"""
    bands = bands.copy()
    for name, surge in surges.items():
        if surge.hz and surge.reason is None:
            near = list_near(parts, name, 1.0 / surge.hz)
            bands[near] = np.maximum(bands[near], factor * surge.band_hz)
    return bands


def list_near(parts: Parts, breaker: str, span: float) -> list[int]:
    """Cables that a wave from the gap reaches within a time [s], over cables and breakers."""
    own = next(switch for switch in parts.switches if switch["name"] == breaker)
    reached = {own["start"]: 0.0, own["end"]: 0.0}
    steps = [((cable["start"], cable["end"]), cable["travel_s"]) for cable in parts.cables]
    steps += [((other["start"], other["end"]), 0.0) for other in parts.switches
              if other["name"] != breaker and other["end"] >= 0]
    for _ in steps:
        for ends, travel in steps:
            for p, q in (ends, ends[::-1]):
                if p in reached and reached[p] + travel < reached.get(q, np.inf):
                    reached[q] = reached[p] + travel
    return [k for k, cable in enumerate(parts.cables)
            if min(reached.get(cable[end], np.inf) for end in ("start", "end")) <= span]
