"""Impedances and voltage transfers over frequency, on a grid that is as fine as the curves need."""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from sim.network.tables import is_inner
from sim.phasors.nodal import POSITIVE
from sim.studies.scan.resonances import drive_one
from sim.studies.scan.setting import SEQUENCES, Setting, whole_matrix

POINTS_PER_DECADE = 40
ON_PEAKS, ELSEWHERE = 1e-3, 1e-2    # by which a chord may miss its curve between points, of the magnitude
CLOSEST = 1e-6                      # no two frequencies are nearer than this share
LEAST = 1e-12                       # what is less than this share of the largest magnitude is rounding
MOST_ROUNDS = 20


class Response(NamedTuple):
    """Frequency response of one sequence.

    Attributes
    ----------
    sequence : str
        "positive" or "zero".
    frequency : ndarray, shape (F,)
        Ascending. [Hz]
    nodes : tuple of str
        Names of the K nodes, those within components left out.
    impedance : ndarray, shape (F, K, K), complex
        Voltage of a node (first K) over the current driven into a node (second K), sources short-circuited. [ohm]
    gain : ndarray, shape (F, S, K), complex
        Voltage of each node over that behind the impedance of each source, both per unit of nominal; no sources in
        the zero sequence.
    """

    sequence: str
    frequency: np.ndarray
    nodes: tuple
    impedance: np.ndarray
    gain: np.ndarray


def find_response(setting: Setting, lowest_hz: float, highest_hz: float, row: int = POSITIVE,
                  seeds: np.ndarray = np.zeros(0)) -> Response:
    """Frequency response between two frequencies.

    Parameters
    ----------
    setting : Setting
    lowest_hz, highest_hz : float
        [Hz]
    row : int
        0 positive sequence, 1 zero sequence.
    seeds : ndarray
        Frequencies that must be on the grid, such as those of resonances. [Hz]

    Returns
    -------
    response : Response
        Halfway between two of its frequencies no straight line between magnitudes, on logarithmic axes, is off by
        more than 1 %, beside a peak by more than 0.1 %.

    Checked by
    ----------
    tests/studies/scan/test_response.py
    """
    outer = list_outer(setting)
    first = np.geomspace(lowest_hz, highest_hz, 2 + int(POINTS_PER_DECADE * np.log10(highest_hz / lowest_hz)))
    seeds = seeds[(seeds > lowest_hz) & (seeds < highest_hz)]

    def sample(hz: float) -> tuple[np.ndarray, np.ndarray]:
        return sample_network(setting, 2j * np.pi * hz, row, outer)
    frequency, rows = refine_grid(sample, np.unique(np.concatenate([first, seeds])), measure)
    return Response(SEQUENCES[row], frequency, tuple(setting.network.node_names[n] for n in outer),
                    np.array([impedance for impedance, _ in rows]), np.array([gain for _, gain in rows]))


def list_outer(setting: Setting) -> list[int]:
    """Rows of the nodes that results show."""
    return [n for n, name in enumerate(setting.network.node_names) if not is_inner(name)]


def sample_network(setting: Setting, s: complex, row: int, outer: list[int]) -> tuple[np.ndarray, np.ndarray]:
    """Impedances (K, K) and gains (S, K) at one complex frequency [rad/s]."""
    network = setting.network
    impedance = np.linalg.inv(whole_matrix(setting, s, row))
    sources = range(len(network.source_names)) if row == POSITIVE else ()
    gain = [(impedance @ drive_one(network, s, source) / network.node_volts)[outer] for source in sources]
    return impedance[np.ix_(outer, outer)], np.array(gain, dtype=complex).reshape(-1, len(outer))


def measure(sampled: tuple[np.ndarray, np.ndarray]) -> np.ndarray:
    """Magnitudes of all curves that must be fine: driving points and gains."""
    impedance, gain = sampled
    return np.abs(np.concatenate([np.diag(impedance), gain.ravel()]))


def refine_grid(sample: Callable, frequency: np.ndarray, measure: Callable) -> tuple[np.ndarray, list]:
    """Samples of a response on a grid that is halved until straight lines between its points tell the curves.

    Parameters
    ----------
    sample : callable
        Frequency [Hz] -> anything.
    frequency : ndarray
        First grid, ascending. [Hz]
    measure : callable
        What `sample` gave -> magnitudes of the curves, shape (M,).

    Returns
    -------
    frequency : ndarray, shape (F,)
    samples : list
        What `sample` gave at each.
    """
    kept = {float(hz): sample(hz) for hz in frequency}
    pending = list(zip(frequency, frequency[1:]))
    for _ in range(MOST_ROUNDS):
        halves = [(low, float(np.sqrt(low * high)), high) for low, high in pending]
        kept |= {middle: sample(middle) for _, middle, _ in halves}
        grid = np.array(sorted(kept))
        logs = take_logs(np.array([measure(kept[hz]) for hz in grid]))
        pending = [pair for half in halves if is_rough(grid, logs, half) for pair in zip(half, half[1:])
                   if pair[1] / pair[0] > 1.0 + 2.0 * CLOSEST]
        if not pending:
            break
    return grid, [kept[hz] for hz in grid]


def take_logs(magnitudes: np.ndarray) -> np.ndarray:
    """Natural logarithms of some curves, shape (F, M); what is rounding of nothing becomes flat."""
    floor = LEAST * np.maximum(magnitudes.max(axis=0), 1e-300)
    return np.log(np.maximum(magnitudes, floor))


def is_rough(grid: np.ndarray, logs: np.ndarray, half: tuple[float, float, float]) -> bool:
    """Whether a chord misses a curve in its middle by more than is allowed there."""
    low, middle, high = np.searchsorted(grid, half)
    miss = np.abs(logs[middle] - 0.5 * (logs[low] + logs[high]))
    window = logs[max(low - 1, 0):high + 2]
    top = window.argmax(axis=0)
    peaked = (top > 0) & (top < len(window) - 1)
    return bool((miss > np.where(peaked, ON_PEAKS, ELSEWHERE)).any())
