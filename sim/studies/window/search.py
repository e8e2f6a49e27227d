"""The setting with the largest smallest margin, and the frequencies at which any setting is left.

At one frequency more voltage gives more torque and takes more current and flux: the best voltage is the one at which
the margin of the torque meets the smallest of the others.
"""

from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np

from sim.network.build import Network
from sim.phasors.drive_line import DriveLine, find_boost, find_voltage
from sim.studies.window.limits import Limits, find_margins
from sim.studies.window.points import Points, solve_points
from sim.studies.window.standstill import Standstill, stand_still
from sim.studies.window.voltages import MOST_BOOST, find_crossing, find_range

ROUNDS, SPLIT = 3, 20       # each round looks at twice so many frequencies around the best one found
EDGE = 1e-5                 # of a window, relative
DIGITS = (1, 2, 3, 5)       # decimals of Hz and of per cent
SPARED = 0.15               # of the margin, for a rounder number


class Feeder(NamedTuple):
    """What is started: a network, the row of its source, its switches, the drive's record and V/f line, its limits."""

    network: Network
    row: int
    closed: np.ndarray
    drive: Any
    line: DriveLine
    limits: Limits


class Setting(NamedTuple):
    """A start frequency [Hz] and boost [pu], the phasors there, margins to all limits [1]."""

    hz: float
    boost: float
    points: Points
    margins: np.ndarray


def stand(feeder: Feeder, hz: np.ndarray) -> Standstill:
    """The feeder at given frequencies."""
    return stand_still(feeder.network, feeder.row, feeder.closed, hz)


def find_best_voltage(feeder: Feeder, still: Standstill) -> tuple[np.ndarray, np.ndarray]:
    """Voltage [V] of the largest smallest margin at every frequency, and that margin [1], shapes (F,)."""
    def lead(at: np.ndarray, emf: np.ndarray) -> np.ndarray:
        margins = find_margins(solve_points(still, at, emf), feeder.limits)
        return margins[:, 0] - margins[:, 1:].min(axis=1)

    emf = find_crossing(lead, *find_range(feeder.line, still.hz))
    margins = find_margins(solve_points(still, np.arange(len(emf)), emf), feeder.limits)
    return emf, margins.min(axis=1)


def find_best_frequency(worth: Callable[[np.ndarray], np.ndarray], hz: np.ndarray,
                        rounds: int = ROUNDS) -> tuple[float, float]:
    """Frequency [Hz] at which something is worth most, and its worth there; -inf where nothing is allowed.

    Parameters
    ----------
    worth : callable
        Frequencies, shape (n,) [Hz] -> ndarray, shape (n,).
    hz : ndarray, shape (F,)
        Ascending; from one to the next the best is not overlooked.
    rounds : int
        Refinements around the best one found.
    """
    found = worth(hz)
    for _ in range(rounds):
        k = int(np.argmax(found))
        ends = hz[max(k - 1, 0)], hz[k], hz[min(k + 1, len(hz) - 1)]
        hz = np.unique(np.concatenate([np.linspace(ends[0], ends[1], SPLIT), np.linspace(ends[1], ends[2], SPLIT)]))
        found = worth(hz)
    k = int(np.argmax(found))
    return float(hz[k]), float(found[k])


def find_best(feeder: Feeder, hz: np.ndarray) -> Setting:
    """The setting with the largest smallest margin, with as few decimals as cost little of it."""
    exact, most = find_best_frequency(lambda f: margin_at(feeder, f), hz)
    enough = most - max(SPARED * abs(most), 1e-9)
    settings = [round_setting(feeder, exact, digits) for digits in DIGITS]
    return next((setting for setting in settings if setting.margins.min() >= enough), settings[-1])


def round_setting(feeder: Feeder, hz: float, digits: int) -> Setting:
    """The best setting near a frequency with so many decimals of Hz and of per cent."""
    hz = round(hz, digits)
    still = stand(feeder, np.array([hz]))
    boost = find_boost(feeder.line, still.hz, find_best_voltage(feeder, still)[0])
    return set_drive(feeder, hz, round(100.0 * float(np.clip(boost[0], 0.0, MOST_BOOST)), digits) / 100.0)


def set_drive(feeder: Feeder, hz: float, boost: float) -> Setting:
    """What follows of a start frequency [Hz] and a boost [pu]."""
    still = stand(feeder, np.array([hz]))
    points = solve_points(still, np.array([0]), find_voltage(feeder.line, still.hz, boost))
    return Setting(hz, boost, points, find_margins(points, feeder.limits)[0])


def find_intervals(feeder: Feeder, hz: np.ndarray, best: Setting) -> list[tuple[float, float]]:
    """Frequencies between which some voltage respects all limits. [Hz]

    Parameters
    ----------
    hz : ndarray, shape (F,)
        Ascending.
    best : Setting
        Found among them: a window between two of the frequencies is not overlooked.
    """
    hz = np.unique(np.append(hz, best.hz))
    inside = margin_at(feeder, hz) >= 0.0
    inside[hz == best.hz] |= best.margins.min() >= 0.0
    turns = np.flatnonzero(np.diff(np.concatenate([[False], inside, [False]]).astype(int))).tolist()
    edges = [find_edge(feeder, hz, k) for k in turns]
    return list(zip(edges[::2], edges[1::2]))


def find_edge(feeder: Feeder, hz: np.ndarray, k: int) -> float:
    """Where a window begins or ends between the frequencies before and at place k. [Hz]"""
    if k in (0, len(hz)):
        return float(hz[min(k, len(hz) - 1)])
    low, high = hz[k - 1], hz[k]
    starts = margin_at(feeder, np.array([high]))[0] >= 0.0
    while high / low > 1.0 + EDGE:
        inner = np.linspace(low, high, SPLIT)
        inside = margin_at(feeder, inner) >= 0.0
        j = int(np.argmax(inside == starts))
        low, high = (inner[max(j - 1, 0)], inner[j]) if j else (low, inner[1])
    return float(high if starts else low)


def margin_at(feeder: Feeder, hz: np.ndarray) -> np.ndarray:
    """Largest smallest margin at frequencies, shape (F,). [1]"""
    return find_best_voltage(feeder, stand(feeder, hz))[1]
