"""Drive voltages that just reach something: the torque asked for, a limit of current or flux.

At a given frequency torque, current and flux rise with the drive's voltage, so that each is reached once.
"""

from collections.abc import Callable

import numpy as np

from sim.phasors.drive_line import DriveLine, find_voltage
from sim.studies.window.limits import Limits, find_torque_share
from sim.studies.window.points import Points, find_flux, solve_points
from sim.studies.window.standstill import Standstill

MOST_BOOST = 0.5        # as the case file allows, of rated voltage
SOLVED = 1e-9
MOST_STEPS = 80
FARTHEST = 64.0         # times the voltage that linear cores would need
SMALL = 1e-6            # nothing saturates at this voltage [V]


def find_crossing(function: Callable, low: np.ndarray, high: np.ndarray) -> np.ndarray:
    """Where rising functions pass zero, the nearer end where one does not between its ends, shape (F,).

    Parameters
    ----------
    function : callable
        Which of them, shape (n,), and where, shape (n,) -> their values, shape (n,).
    low, high : ndarray, shape (F,)

    Notes
    -----
    False position, the end that stays put halved in weight (the Illinois rule): exact at once for a straight line.
    Source: M. Dowell, P. Jarratt, BIT 11 (1971), 168-174 (from memory, to be checked).
    """
    low, high, every = low.copy(), high.copy(), np.arange(len(low))
    below, above = function(every, low), function(every, high)
    x = np.where(below >= -SOLVED, low, high)
    left, side = np.flatnonzero((below < -SOLVED) & (above > SOLVED)), np.zeros(len(low))
    for _ in range(MOST_STEPS):
        if not len(left):
            break
        x[left] = (low[left] * above[left] - high[left] * below[left]) / (above[left] - below[left])
        found = function(left, x[left])
        up, down = left[found > 0.0], left[found <= 0.0]
        below[up[side[up] > 0.0]] *= 0.5
        above[down[side[down] < 0.0]] *= 0.5
        high[up], above[up], side[up] = x[up], found[found > 0.0], 1.0
        low[down], below[down], side[down] = x[down], found[found <= 0.0], -1.0
        left = left[(np.abs(found) > SOLVED) & (high[left] - low[left] > 1e-12 * high[left])]
    return x


def solve_voltage(still: Standstill, measure: Callable[[Points], np.ndarray]) -> np.ndarray:
    """Drive voltage at which a measure is 1, at every frequency.

    Parameters
    ----------
    still : Standstill
    measure : callable
        Points -> ndarray, shape (n,): zero without voltage, rising with it, in proportion where nothing saturates.

    Returns
    -------
    emf : ndarray, shape (F,)
        NaN where no voltage reaches it. [V]
    """
    def miss(at: np.ndarray, emf: np.ndarray) -> np.ndarray:
        return measure(solve_points(still, at, emf)) - 1.0

    at = np.arange(len(still.hz))
    each = measure(solve_points(still, at, np.full(len(at), SMALL)))
    start = np.divide(SMALL, each, out=np.full(len(at), SMALL), where=each > 0.0)
    high = start.copy()
    short = np.flatnonzero(miss(at, high) < -SOLVED)
    while len(short):
        high[short] *= 1.5
        short = short[high[short] < FARTHEST * start[short]]
        short = short[miss(short, high[short]) < -SOLVED]
    emf = find_crossing(miss, np.zeros(len(at)), high)
    return np.where(high < FARTHEST * start, emf, np.nan)


def find_torque_voltage(still: Standstill, limits: Limits, ratio: float) -> np.ndarray:
    """Voltage for so many times the breakaway torque, shape (F,). [V]"""
    if ratio == 0.0:
        return np.zeros(len(still.hz))
    return solve_voltage(still, lambda points: np.sqrt(find_torque_share(points, limits) / ratio))


def find_current_voltage(still: Standstill, limits: Limits) -> np.ndarray:
    """Voltage at the limit of current, shape (F,). [V]"""
    return solve_voltage(still, lambda points: points.current / limits.current)


def find_flux_voltage(still: Standstill, limits: Limits, path: int) -> np.ndarray:
    """Voltage at the limit of one path's flux, shape (F,). [V]"""
    return solve_voltage(still, lambda points: find_flux(points)[:, path] / limits.flux[path])


def find_range(line: DriveLine, hz: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Voltages without boost and with the most of it. [V]"""
    return find_voltage(line, hz, 0.0), find_voltage(line, hz, MOST_BOOST)
