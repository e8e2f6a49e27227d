"""Where the harmonics of a drive meet the resonances of what it feeds, over its range of frequencies.

Order k of a balanced three-phase voltage is a positive sequence for k = 1, 7, 13 and a negative one for k = 5, 11, 17
(k divided by three leaves 1 or 2); orders that three divides are equal in all phases and not driven between lines.  The
rotors keep their slip to the fundamental, so that their speed follows the drive's frequency.

Sources
-------
Characteristic orders 6 n +- 1 of a six-pulse bridge and 1/k of the fundamental for a square-edged waveform: any text on
power electronics.  A gain of 3 as the most that is left inside the range without a filter: common practice.
"""

from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np

from sim.network.build import Network
from sim.phasors.drive_line import find_voltage, read_line
from sim.phasors.machines import add_machines
from sim.phasors.nodal import POSITIVE
from sim.studies.scan.profile import find_profiles
from sim.studies.scan.resonances import drive_one, find_gains
from sim.studies.scan.response import Response, list_outer
from sim.studies.scan.setting import Setting, passive_matrix

ORDERS = (5, 7, 11, 13, 17, 19, 23, 25)
GAIN_LIMIT = 3.0
MENTIONED = 1.5         # peaks of a gain below this are not listed
Place = tuple[str | None, float | None, float | None]


class Crossing(NamedTuple):
    """One harmonic order at a peak of the gain, or at an end of the range where the gain is above the limit.

    Attributes
    ----------
    order : int
    drive_hz, harmonic_hz : float
        [Hz]
    node : str
        Node with the largest gain.
    gain : float
        There, over the harmonic voltage behind the drive's impedance, both per unit of nominal.
    gains : dict
        The same of every node.
    cable, cable_km, cable_gain : str, float, float
        Largest gain along a cable and where it is; None where the drive feeds none.
    harmonic_pu, fundamental_pu : float
        Harmonic and fundamental voltage of the node, of nominal.
    peak_pu : float
        Their sum, of the crest of the nominal phase voltage: both crests at once.
    from_hz, to_hz : float
        Drive frequencies between which the gain is above the limit; None where it is not. [Hz]
    at_end : bool
        Whether this is no peak but an end of the range.
    """

    order: int
    drive_hz: float
    harmonic_hz: float
    node: str
    gain: float
    gains: dict
    cable: str | None
    cable_km: float | None
    cable_gain: float | None
    harmonic_pu: float
    fundamental_pu: float
    peak_pu: float
    from_hz: float | None
    to_hz: float | None
    at_end: bool

    @property
    def exceeds(self) -> bool:
        """Whether the gain is above the limit."""
        return self.gain > GAIN_LIMIT


class Ray(NamedTuple):
    """One order over the range of a drive: harmonic frequencies [Hz], shape (F,), and gains, shape (F, K)."""

    order: int
    harmonic_hz: np.ndarray
    gain: np.ndarray

    @property
    def drive_hz(self) -> np.ndarray:
        """Frequency of the drive, shape (F,). [Hz]"""
        return self.harmonic_hz / self.order


class Fan(NamedTuple):
    """All orders of a drive.

    Attributes
    ----------
    drive : str
    nodes : tuple of str
        Nodes of its island.
    from_hz, to_hz : float
        Range of the drive. [Hz]
    assessed_hz : float
        Highest harmonic frequency looked at. [Hz]
    rays : list of Ray
    crossings : list of Crossing
        By order, then frequency.
    """

    drive: str
    nodes: tuple
    from_hz: float
    to_hz: float
    assessed_hz: float
    rays: list
    crossings: list

    @property
    def unassessed(self) -> list[int]:
        """Orders that go beyond the highest frequency looked at within the range of the drive."""
        return [ray.order for ray in self.rays if ray.order * self.to_hz > self.assessed_hz * (1.0 + 1e-9)]

    @property
    def needs_filter(self) -> bool | None:
        """Whether any crossing is above the limit; None where none is, but not all of the range was looked at."""
        if any(crossing.exceeds for crossing in self.crossings):
            return True
        return None if self.unassessed else False


def find_range(case: Any, drive: Any) -> tuple[float, float]:
    """Lowest and highest frequency a drive is sent to. [Hz]"""
    sent = [event.to_hz for event in case.events if event.action == "speed" and event.target == drive.name]
    return min(drive.start_hz, drive.target_hz, *sent), max(drive.start_hz, drive.target_hz, *sent)


def spread_fan(case: Any, setting: Setting, drive: Any, response: Response, orders: Sequence[int] = ORDERS,
               share: float | None = None) -> Fan:
    """Gains and crossings of the orders of a drive.

    Parameters
    ----------
    case : CheckedCase
    setting : Setting
    drive : Record
    response : Response
        Of the positive sequence: its frequencies are fine enough for every ray.
    orders : sequence of int
    share : float, optional
        Harmonic voltage behind the drive's impedance, of the fundamental there; 1/k by default. [pu]

    Checked by
    ----------
    tests/studies/scan/test_crossings.py
    """
    network = setting.network
    source, low, high = network.source_names.index(drive.name), *find_range(case, drive)
    rows = [n for n in list_outer(setting) if network.tables.nodes.island[n] == network.tables.sources.island[source]]
    matrices: dict[tuple[float, int], np.ndarray] = {}
    rays, crossings = [], []
    for order in orders:
        hz = pick_frequencies(response.frequency, order * low, order * high)
        gain = sample_ray(setting, source, order, hz, matrices)[:, rows] if len(hz) else np.zeros((0, len(rows)))
        ray = Ray(order, hz, np.abs(gain))
        rays.append(ray)
        crossings += [meet(case, setting, drive, rows, ray, at, 1.0 / order if share is None else share)
                      for at in find_peaks(ray)]
    return Fan(drive.name, tuple(network.node_names[n] for n in rows), low, high, float(response.frequency[-1]), rays,
               crossings)


def pick_frequencies(grid: np.ndarray, low: float, high: float) -> np.ndarray:
    """Frequencies of a grid between two, with both ends as far as the grid reaches. [Hz]"""
    high = min(high, grid[-1])
    if low > high:
        return np.zeros(0)
    return np.unique(np.concatenate([[low], grid[(grid > low) & (grid < high)], [high]]))


def find_s(order: int, hz: Any) -> Any:
    """Complex frequency of a harmonic: positive or negative sequence. [rad/s]"""
    return (1.0 if order % 3 == 1 else -1.0) * 2j * np.pi * hz


def find_rotors(setting: Setting, drive_hz: Any) -> np.ndarray:
    """Electrical speed of all rotors at frequencies of the drive [Hz], shape (..., A). [rad/s]"""
    return 2.0 * np.pi * np.asarray(drive_hz)[..., None] * (1.0 - setting.slip)


def sample_ray(setting: Setting, source: int, order: int, hz: np.ndarray, matrices: dict) -> np.ndarray:
    """Gains of all nodes at harmonic frequencies [Hz], shape (F, N); `matrices` keeps those without machines."""
    network, s = setting.network, find_s(order, hz)
    missing = [at for at in s if at not in matrices]
    matrices |= zip(missing, passive_matrix(setting, missing))
    whole = add_machines(np.array([matrices[at] for at in s]), network, s, find_rotors(setting, hz / order))
    current = drive_one(network, s, source)
    return np.linalg.solve(whole, current[..., None])[..., 0] / network.node_volts


def find_peaks(ray: Ray) -> list[int]:
    """Points of a ray at which the largest gain of all nodes has a peak, or ends above the limit."""
    top = ray.gain.max(axis=1, initial=0.0)
    inner = [k for k in range(1, len(top) - 1) if top[k - 1] < top[k] >= top[k + 1] and top[k] > MENTIONED]
    low = [0] if len(top) > 1 and top[0] > max(GAIN_LIMIT, top[1]) else []
    high = [len(top) - 1] if len(top) > 1 and top[-1] > max(GAIN_LIMIT, top[-2]) else []
    return [*low, *inner, *high]


def meet(case: Any, setting: Setting, drive: Any, rows: list[int], ray: Ray, at: int, share: float) -> Crossing:
    """The crossing at a point of a ray, its peak placed by a parabola through three points."""
    network, at_end = setting.network, at in (0, len(ray.harmonic_hz) - 1)
    hz = ray.harmonic_hz[at] if at_end else find_vertex(ray, at)
    source, drive_hz = network.source_names.index(drive.name), float(hz / ray.order)
    rotor = find_rotors(setting, drive_hz)
    gains = find_gains(setting, find_s(ray.order, hz), source, rotor)
    node = rows[int(np.argmax(np.abs(gains[rows])))]
    fundamental = find_fundamental(drive, drive_hz)
    carried = fundamental * float(abs(find_gains(setting, find_s(1, drive_hz), source, rotor)[node]))
    gain = float(abs(gains[node]))
    return Crossing(ray.order, drive_hz, float(hz), network.node_names[node], gain,
                    {network.node_names[n]: float(abs(gains[n])) for n in rows},
                    *find_worst_place(case, network, find_s(ray.order, hz), gains),
                    gain * share * fundamental, carried, carried + gain * share * fundamental,
                    *find_band(ray, at), at_end)


def find_vertex(ray: Ray, at: int) -> float:
    """Frequency of the peak through a point and its neighbours, on logarithmic axes. [Hz]"""
    x, y = np.log(ray.harmonic_hz[at - 1:at + 2]), np.log(ray.gain[at - 1:at + 2].max(axis=1))
    left, right = (y[1] - y[0]) / (x[1] - x[0]), (y[2] - y[1]) / (x[2] - x[1])
    if left <= right:
        return float(np.exp(x[1]))
    return float(np.exp(0.5 * (x[0] + x[1]) + 0.5 * (x[2] - x[0]) * left / (left - right)))


def find_fundamental(drive: Any, hz: float) -> float:
    """Voltage behind a drive's impedance by its V/f line, boost and ceiling, without compensation, of rated. [pu]"""
    line = read_line(drive)
    return float(find_voltage(line, hz)) / line.rated_v


def find_worst_place(case: Any, network: Network, s: complex, gains: np.ndarray) -> Place:
    """Cable, place [km] and gain of the largest voltage along any cable; three times None where none is fed."""
    best: Place = (None, None, None)
    for profile in find_profiles(case, network, s, gains, POSITIVE):
        gain, km = profile.highest
        if gain > (best[2] or 0.0):
            best = profile.cable, km, gain
    return best


def find_band(ray: Ray, at: int) -> tuple[float | None, float | None]:
    """Drive frequencies between which the gain around a point stays above the limit; None, None where it is below.
    [Hz]"""
    top = ray.gain.max(axis=1)
    if top[at] <= GAIN_LIMIT:
        return None, None
    below = np.flatnonzero(top <= GAIN_LIMIT)
    left, right = below[below < at], below[below > at]
    low = find_limit_hz(ray, top, left[-1], 1) if len(left) else ray.drive_hz[0]
    high = find_limit_hz(ray, top, right[0], -1) if len(right) else ray.drive_hz[-1]
    return float(low), float(high)


def find_limit_hz(ray: Ray, top: np.ndarray, k: int, inward: int) -> float:
    """Drive frequency at which the gain passes the limit between point k and the next one inwards. [Hz]"""
    return np.interp(GAIN_LIMIT, [top[k], top[k + inward]], [ray.drive_hz[k], ray.drive_hz[k + inward]])
