"""What would open a start window where there is none: drive, core, conductor or load, each alone and by how much.

Each answer is the least change that leaves some start frequency and boost within all limits, rounded away from the
limit and tried again.  Together they tell what cannot open a window: whatever has no answer.
"""

from collections.abc import Callable
from math import ceil, floor
from typing import Any

import numpy as np
from scipy.optimize import brentq

from sim.studies.window.changes import (
    change_current,
    ease_load,
    list_cable_sets,
    list_conductors,
    list_core_sets,
    list_current_sets,
    list_load_sets,
    owner_of,
    raise_cores,
    scale_cables,
    straighten_cores,
)
from sim.studies.window.limits import find_margins
from sim.studies.window.points import Points, find_flux, solve_points
from sim.studies.window.search import ROUNDS, Feeder, find_best_frequency, margin_at, stand
from sim.studies.window.voltages import find_range, find_torque_voltage

COARSE = 4              # every so manieth frequency is enough for a search that repeats
LEAST_SHARE = 0.01      # of resistance or torque: less is none
TOLERANCE = 4e-3        # of a share; the answer is tried again in whole per cent
MOST_TRIES = 20
ROUNDING = 1e-6         # of a step, so that a value that is whole stays


def list_openers(case: Any, feeder: Feeder, hz: np.ndarray) -> dict[str, dict | None]:
    """Least changes that open a window, each alone.

    Parameters
    ----------
    case : CheckedCase
    feeder : Feeder
        Without a window.
    hz : ndarray, shape (F,)
        Start frequencies to choose from, ascending.

    Returns
    -------
    openers : dict
        "drive_current" (current_limit_pct), "core_flux" (flux_limit_pu by transformer), "cable_resistance"
        (resistance_pct of the present one, cross_section_pct, conductor_mm2 where the case states cross-sections) and
        "breakaway" (breakaway_pct of the present torque, breakaway_ratio that the limits allow); None where no amount
        of it opens one.  All hold `start_hz` and `set`, the overrides that make the change.
    """
    hz = hz[::COARSE]
    return {"drive_current": find_current(feeder, hz), "core_flux": find_core(feeder, hz),
            "cable_resistance": find_resistance(case, feeder, hz),
            "breakaway": find_breakaway_share(case, feeder, hz)}


def find_least(feeder: Feeder, hz: np.ndarray) -> tuple[Points, np.ndarray, np.ndarray]:
    """Phasors at the least voltage for the required torque, their margins, and whether boost can reach it."""
    still = stand(feeder, hz)
    need = np.nan_to_num(find_torque_voltage(still, feeder.limits, feeder.limits.ratio), nan=np.inf)
    low, high = find_range(feeder.line, hz)
    points = solve_points(still, np.arange(len(hz)), np.clip(need, low, high))
    return points, find_margins(points, feeder.limits), need <= high * (1.0 + 1e-9)


def find_current(feeder: Feeder, hz: np.ndarray) -> dict | None:
    """The least limit of the drive's current, cores as they are."""
    def worth(f: np.ndarray) -> np.ndarray:
        points, margins, reached = find_least(feeder, f)
        return np.where(reached & (margins[:, 2:] >= 0.0).all(axis=1), -points.current, -np.inf)

    _, most = find_best_frequency(worth, hz)
    if not np.isfinite(most):
        return None
    first = ceil(100.0 * -most / feeder.limits.rated_current - ROUNDING)
    tried = try_steps(lambda pct: change_current(feeder, 0.01 * pct), first, 1, hz)
    return tried and {"current_limit_pct": tried[0], "start_hz": tried[1], "set": list_current_sets(feeder, tried[0])}


def find_core(feeder: Feeder, hz: np.ndarray) -> dict | None:
    """The least flux the cores have to be good for, at the drive's present limit of current."""
    paths, plain = stand(feeder, hz[:1]).paths, straighten_cores(feeder)

    def worth(f: np.ndarray) -> np.ndarray:
        points, margins, reached = find_least(plain, f)
        worst = (find_flux(points) / feeder.limits.flux).max(axis=1)
        return np.where(reached & (margins[:, 1] >= 0.0), -worst, -np.inf)

    best, most = find_best_frequency(worth, hz)
    if not np.isfinite(most):
        return None
    flux = find_flux(find_least(plain, np.array([best]))[0])[0]
    least: dict[str, float] = {}
    for name, value in zip(paths.names, flux):
        least[owner_of(name)] = max(value, least.get(owner_of(name), 0.0))
    short = {owner_of(name) for name, value, limit in zip(paths.names, flux, feeder.limits.flux) if value > limit}

    def round_up(step: int) -> dict[str, float]:
        return {name: (ceil(100.0 * least[name] - ROUNDING) + step) / 100.0 for name in sorted(short)}

    tried = try_steps(lambda step: raise_cores(feeder, paths, round_up(step)), 0, 1, hz)
    return tried and {"flux_limit_pu": round_up(tried[0]), "start_hz": tried[1],
                      "set": list_core_sets(feeder, round_up(tried[0]))}


def find_resistance(case: Any, feeder: Feeder, hz: np.ndarray) -> dict | None:
    """The largest share of the cables' resistance that leaves a window."""
    found = find_share(lambda share: scale_cables(feeder, share), hz)
    if found is None or not len(feeder.network.tables.cables.start):
        return None
    share = 0.01 * found[0]
    return {"resistance_pct": found[0], "cross_section_pct": 100.0 / share,
            "conductor_mm2": list_conductors(case, share), "start_hz": found[1], "set": list_cable_sets(case, share)}


def find_breakaway_share(case: Any, feeder: Feeder, hz: np.ndarray) -> dict | None:
    """The largest share of the breakaway torque that leaves a window, and the ratio the limits allow at present."""
    found = find_share(lambda share: ease_load(feeder, share), hz)
    if found is None:
        return None
    share = 0.01 * found[0]
    return {"breakaway_pct": found[0], "breakaway_ratio": share * feeder.limits.ratio, "start_hz": found[1],
            "set": list_load_sets(case, share)}


def find_share(change: Callable[[float], Feeder], hz: np.ndarray) -> tuple[int, float] | None:
    """The largest share below one with a window, in whole per cent, and its best frequency. [Hz]"""
    def margin(share: float) -> float:
        return best_margin(change(share), hz, 1)[1]

    if margin(LEAST_SHARE) < 0.0:
        return None
    share = brentq(margin, LEAST_SHARE, 1.0, xtol=TOLERANCE) if margin(1.0) < 0.0 else 1.0
    return try_steps(lambda pct: change(0.01 * pct), floor(100.0 * (share + TOLERANCE) + ROUNDING), -1, hz)


def try_steps(change: Callable[[Any], Feeder], first: int, step: int, hz: np.ndarray) -> tuple[int, float] | None:
    """The first of some steps with a window, and its best frequency. [Hz]"""
    for value in range(first, first + MOST_TRIES * step, step):
        best, margin = best_margin(change(value), hz)
        if margin >= 0.0:
            return value, round(best, 2)
    return None


def best_margin(feeder: Feeder, hz: np.ndarray, rounds: int = ROUNDS) -> tuple[float, float]:
    """The frequency [Hz] of the largest smallest margin [1], and that margin."""
    return find_best_frequency(lambda f: margin_at(feeder, f), hz, rounds)
