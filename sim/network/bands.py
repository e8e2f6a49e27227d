"""How high a band the switching of a network needs: frequencies that follow from its inductances, cables and strays.

A pole that closes or parts launches waves.  Three things say how fast what they leave is:

- At an end with inductance L to the supplies a wave on a cable of surge impedance Z comes back as a spike that fades
  with L/Z: peaks built of it need its corner frequency Z/(2 pi L).
- A cable and the inductance at its end ring at x tan(x) = Z T/L, x = 2 pi f T with T the travel time: the quarter wave
  of a long cable behind a strong supply, the circuit of L and the whole capacitance for a short one.
- Where no cable begins, the stray capacitance and the inductance ring at 1/(2 pi sqrt(L C)), when a switch stands
  there or one winding away, else as far as the fronts that arrive are that fast.

Only switches that the study moves count.  The band is a multiple of the highest frequency.  Inductances are those of
the network seen from the place, every breaker closed or every one open, and the far ends of cables held; losses and
couplings are left out, which errs towards a higher band.  Held against runs with far higher bands in
tests/physics/waves/test_band.py.
"""

from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from scipy.optimize import brentq
from scipy.sparse import csr_array
from scipy.sparse.csgraph import connected_components

from sim.network.gaps import Surge, raise_bands

if TYPE_CHECKING:
    from sim.network.parts import Parts

LEAST_HZ = 5e3                      # of a band that the network chooses
CABLE_MOST, STEP_MOST = 1e5, 2e5    # of cables, and of the steps after a switching
SPIKES, RINGS = 11.0, 3.0           # band over the corner of spikes and the first resonance of a cable; over rings
MOST_WAVES = 75.0                   # most wavelengths along a cable at its band: bounds its oscillators
FASTER = 1.5                        # a ring that a front excites is no faster than so many times its corner
ENOUGH = 0.95                       # share of the needed band that counts as enough
SETTLE, PASSES, SETTLE_MOST = 3e-3, 8.0, 2e-2       # fast part: a time, passes along a cable, most of both [s]


class Bands(NamedTuple):
    """Bands of a network. [Hz]

    Attributes
    ----------
    study : float
        Band that steps and stored points resolve after a switching.
    cable : ndarray, shape (K,)
        What each row of the cable table is sized for.
    needed : ndarray, shape (N,)
        What peaks of each node need.
    held : ndarray, shape (N,)
        What they got: the lowest of the study's and those of the cables in reach.
    switch : ndarray, shape (Q,)
        What the front of a closing pole may hold: where cables begin no more than the least of theirs.
    rest : float
        What steps resolve once the fast part has faded.
    settle : float
        How long after a switching that is. [s]
    factor : float
        By which all bands were multiplied.
    where : str
        Place that needs the highest.
    """

    study: float
    cable: np.ndarray
    needed: np.ndarray
    held: np.ndarray
    switch: np.ndarray
    rest: float
    settle: float
    factor: float
    where: str


def choose_bands(parts: "Parts", given_hz: float | None, moves: dict[str, set[str]], factor: float = 1.0,
                 surges: dict[str, Surge] | None = None) -> Bands:
    """Bands of a network whose cables are not sized yet.

    Parameters
    ----------
    parts : Parts
        Everything but the oscillators of its cables.
    given_hz : float or None
        The case's own band, for everything; None: as high as needed, within LEAST_HZ and the most.
    moves : dict of str to set of str
        Switches that "close" and that "open" in the study: `list_moves`.
    factor : float
        Multiplies every band.
    surges : dict of str to Surge, optional
        Of gaps with a strength: cables near them are sized for these, whatever the case's band.
    """
    group = join_nodes(parts)
    cables = find_cable_corners(parts, group)
    fastest = cables.max(initial=0.0)
    rings = np.maximum(find_rings(parts, group, moves["close"], fastest),
                       find_rings(parts, join_nodes(parts, False), moves["open"], fastest))
    needs = np.append(np.minimum(SPIKES * cables, CABLE_MOST), RINGS * rings)
    travel = np.array([cable["travel_s"] for cable in parts.cables])
    if given_hz is None:
        band = np.clip(SPIKES * cables, LEAST_HZ, CABLE_MOST)
        own = factor * np.minimum(band, np.maximum(MOST_WAVES / travel, LEAST_HZ))
        study, rest = factor * float(np.clip(needs.max(initial=0.0), LEAST_HZ, STEP_MOST)), factor * LEAST_HZ
    else:
        own = np.full(len(cables), factor * given_hz)
        study = rest = factor * given_hz
    own = raise_bands(parts, surges or {}, own, factor)
    needed, held = spread(parts, group, SPIKES * cables, RINGS * rings, own, study)
    settle = min(SETTLE + PASSES * travel[own > rest].max(initial=0.0), SETTLE_MOST)
    return Bands(study, own, needed, held, limit_fronts(parts, group, own, study), rest, settle, factor,
                 name_place(parts, group, SPIKES * cables, RINGS * rings))


def limit_fronts(parts: "Parts", group: np.ndarray, own: np.ndarray, study: float) -> np.ndarray:
    """Band of the front of every switch, shape (Q,). [Hz]"""
    least = np.full(int(group.max()) + 1, study)
    for cable, band in zip(parts.cables, own):
        for end in (cable["start"], cable["end"]):
            least[group[end]] = min(least[group[end]], band)
    return np.array([least[group[switch["start"]]] for switch in parts.switches])


def join_nodes(parts: "Parts", closed: bool = True) -> np.ndarray:
    """Number of the group of nodes that series capacitors and breakers join, these all closed or all open, (N,)."""
    pairs = [(switch["start"], switch["end"]) for switch in parts.switches if closed]
    pairs += [(link["start"], link["end"]) for link in parts.links if link["s"][0] > 0.0 and link["l"][0] == 0.0]
    return number_groups(len(parts.node_names), [pair for pair in pairs if min(pair) >= 0])


def number_groups(count: int, pairs: list[tuple[int, int]]) -> np.ndarray:
    """Number of the connected component of each of `count` items."""
    first, second = np.array(pairs, dtype=int).reshape(-1, 2).T
    return connected_components(csr_array((np.ones(len(pairs)), (first, second)), shape=(count, count)))[1]


def find_inductances(parts: "Parts", group: np.ndarray) -> np.ndarray:
    """Inductance from each group to the supplies, the ends of cables elsewhere held, infinite without one. [H]"""
    size = int(group.max()) + 1
    gamma = np.zeros((size, size), dtype=complex)
    for link in parts.links:
        if link["l"][0] <= 0.0:
            continue
        ends = [(group[node], weight) for node, weight in ((link["start"], link["wf"]), (link["end"], link["wt"]))
                if node >= 0]
        for p, first in ends:
            for q, second in ends:
                gamma[p, q] += np.conj(first) * second / link["l"][0]
    for machine in parts.machines:
        gamma[group[machine["node"]], group[machine["node"]]] += machine["gamma"][0, 0]
    held = np.zeros(size, dtype=bool)
    held[group[[end for cable in parts.cables for end in (cable["start"], cable["end"])]]] = True
    return np.array([see_inductance(gamma, held, g) for g in range(size)])


def see_inductance(gamma: np.ndarray, held: np.ndarray, g: int) -> float:
    """Inductance from group g, all free groups eliminated. [H]"""
    free = ~held
    free[g] = False
    to = gamma[g, free]
    inverse = (gamma[g, g] - to @ np.linalg.lstsq(gamma[np.ix_(free, free)], np.conj(to), rcond=None)[0]).real
    return 1.0 / inverse if inverse > 1e-9 * gamma[g, g].real else np.inf


def find_cable_corners(parts: "Parts", group: np.ndarray) -> np.ndarray:
    """Highest frequency that the ends of each row of the cable table give to a wave on it, shape (K,). [Hz]"""
    inductance = find_inductances(parts, group) if parts.cables else np.zeros(0)
    admittance = np.zeros(len(inductance))
    for cable in parts.cables:
        for end in (cable["start"], cable["end"]):
            admittance[group[end]] += 1.0 / cable["surge_ohm"]
    return np.array([max([find_corner(cable, inductance[g], 1.0 / admittance[g])
                          for g in group[[cable["start"], cable["end"]]] if np.isfinite(inductance[g])],
                         default=0.25 / cable["travel_s"]) for cable in parts.cables])


def find_corner(cable: dict, inductance: float, surge: float) -> float:
    """Corner of the spike or first resonance with an inductance at one end, whichever is higher. [Hz]"""
    travel = cable["travel_s"]
    ratio = surge * travel / inductance
    x = brentq(lambda x: x * np.sin(x) - ratio * np.cos(x), 0.0, 0.5 * np.pi)
    return max(surge / (2.0 * np.pi * inductance), x / (2.0 * np.pi * travel))


def list_moves(case: Any) -> dict[str, set[str]]:
    """Switches that close and that open in a study; a drive with pulses does both all the time, others have no fronts.

    Parameters
    ----------
    case : CheckedCase
    """
    closing = {event.target for event in case.events if event.action == "close"} | {one.name for one in case.faults}
    opening = {event.target for event in case.events if event.action == "open"}
    opening |= {one.name for one in case.faults if one.clear_s is not None}
    pulsed = {drive.name for drive in case.drives if drive.pulses}
    shots = {case.shots.breaker} if case.shots else set()
    return {"close": closing | shots | pulsed, "open": opening | pulsed}


def find_rings(parts: "Parts", group: np.ndarray, moving: set[str], front_hz: float) -> np.ndarray:
    """Frequency of strays and inductance at every node where no cable begins, 0 elsewhere, shape (N,). [Hz]"""
    inductance = find_inductances(parts, group)
    farads = np.bincount(group, weights=[c[0] for c in parts.node_c])
    square = np.where(np.isfinite(inductance), inductance, 0.0) * farads
    hz = np.divide(1.0, 2.0 * np.pi * np.sqrt(square), out=np.zeros(len(farads)), where=square > 0.0)
    switched = np.zeros(len(farads), dtype=bool)
    ends = [node for switch in parts.switches if switch["name"] in moving for node in (switch["start"], switch["end"])]
    switched[group[[node for node in ends if node >= 0]]] = True
    across = [group[[link["start"], link["end"]]] for link in parts.links if min(link["start"], link["end"]) >= 0]
    near = switched.copy()
    for first, second in across:
        near[[first, second]] |= switched[[second, first]]
    hz = np.where(near, hz, np.minimum(hz, FASTER * front_hz))
    hz[group[[end for cable in parts.cables for end in (cable["start"], cable["end"])]]] = 0.0
    return hz[group]


def spread(parts: "Parts", group: np.ndarray, cables: np.ndarray, rings: np.ndarray, own: np.ndarray,
           study: float) -> tuple[np.ndarray, np.ndarray]:
    """What the peaks of each node need and hold: waves reach all that cables and breakers join, both (N,). [Hz]"""
    pairs = [(group[cable["start"]], group[cable["end"]]) for cable in parts.cables]
    zone = number_groups(int(group.max()) + 1, pairs)[group]
    needed, held = np.zeros(int(zone.max()) + 1), np.full(int(zone.max()) + 1, study)
    np.maximum.at(needed, zone, rings)
    at = zone[[cable["start"] for cable in parts.cables]] if parts.cables else np.zeros(0, dtype=int)
    np.maximum.at(needed, at, cables)
    np.minimum.at(held, at, np.where(cables > own, own, study))
    return needed[zone], held[zone]


def name_place(parts: "Parts", group: np.ndarray, cables: np.ndarray, rings: np.ndarray) -> str:
    """Cable or node that needs the highest band."""
    if rings.max(initial=0.0) > cables.max(initial=0.0):
        return parts.node_names[int(np.argmax(rings))]
    return parts.cables[int(np.argmax(cables))]["name"] if parts.cables else ""
