"""Main path of a motor from its no-load curve: straight lines between measured points, six bends at most.

Beyond the straight part every measured point but the last may be a bend.  What each adds follows by non-negative least
squares of the relative error of the current, so the inductance only falls; of more than `MOST_BENDS` those whose loss
shows least are left out one by one.  Beyond the last point the last line goes on.

Valid for
---------
Curves whose slope only falls.  The first bend of iron at very low flux, where current rises again, is left out and
counts as error.

Sources
-------
.. [1] C. L. Lawson, R. J. Hanson, *Solving Least Squares Problems*, 1974, chapter 23: non-negative least squares.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from scipy.optimize import nnls

from sim.params.motor.no_load import MainPath, Point, Stator, check_reactance, find_points, find_reactance

MOST_BENDS = 6          # what the simulation carries
WORST_ERROR = 0.1       # of current; a curve that is further off does not only steepen


class PathFit(NamedTuple):
    """Main path, and the largest error of its current over the measured points, relative to each. [1]"""

    path: MainPath
    error: float


def find_main_path(voltages: Sequence[float], currents: Sequence[float], stator: Stator,
                   reactance: float | None = None) -> PathFit:
    """Main path that a no-load curve shows.

    Parameters
    ----------
    voltages, currents : sequence of float
        At rated frequency, ascending: between lines [V], line current [A], RMS.
    stator : Stator
    reactance : float or None
        Unsaturated magnetising reactance where it is known; None for that of the curve. [ohm]

    Returns
    -------
    PathFit

    Raises
    ------
    ValueError
        For a point that the stator or the losses rule out; no point on the straight part; a current below that of the
        given reactance; an error above `WORST_ERROR`.

    Checked by
    ----------
    tests/params/motor/test_no_load.py, tests/published/test_no_load_curves.py
    """
    points = find_points(voltages, currents, stator)
    if reactance is None:
        reactance = find_reactance(points)
    else:
        check_reactance(points, reactance)
    start = min(range(len(points)), key=lambda k: points[k].susceptance / points[k].flux)
    path = find_bends(points[start:], reactance)
    errors = find_errors(points, path)
    worst = start + int(np.argmax(np.abs(errors[start:])))
    if abs(errors[worst]) > WORST_ERROR:
        raise ValueError(f"no curve that only flattens comes closer to {currents[worst]:.4g} A at "
                         f"{100.0 * voltages[worst] / stator.rated_voltage:.4g} % voltage than "
                         f"{100.0 * abs(errors[worst]):.3g} %: check that point and its neighbours")
    return PathFit(path, float(np.abs(errors).max()))


def find_errors(points: Sequence[Point], path: MainPath) -> np.ndarray:
    """Error of a main path's current at every point, relative to it, shape (n,). [1]"""
    flux, drawn = np.array(points).T
    found = flux + np.maximum(flux[:, None] - np.array(path.knees), 0.0) @ np.array(path.added)
    return found / (drawn * path.reactance) - 1.0


def find_bends(points: Sequence[Point], reactance: float) -> MainPath:
    """Main path through points of which the first lies on the straight part."""
    flux, drawn = np.array(points).T
    wanted = drawn * reactance
    bends = list(range(len(points) - 1))
    added = weigh(flux, wanted, bends)
    bends, added = [k for k, a in zip(bends, added) if a > 0.0], added[added > 0.0]
    while len(bends) > MOST_BENDS:
        shorter = [bends[:k] + bends[k + 1:] for k in range(len(bends))]
        bends = min(shorter, key=lambda some: find_misfit(flux, wanted, some))
        added = weigh(flux, wanted, bends)
    kept = [(float(flux[k]), float(a)) for k, a in zip(bends, added) if a > 0.0]
    return MainPath(reactance, tuple(knee for knee, _ in kept), tuple(a for _, a in kept))


def weigh(flux: np.ndarray, wanted: np.ndarray, bends: list[int]) -> np.ndarray:
    """What each bend adds, by least squares of the relative error."""
    columns = np.maximum(flux[:, None] - flux[bends], 0.0)
    return nnls(columns / wanted[:, None], 1.0 - flux / wanted)[0]


def find_misfit(flux: np.ndarray, wanted: np.ndarray, bends: list[int]) -> float:
    """Largest relative error with some bends."""
    columns = np.maximum(flux[:, None] - flux[bends], 0.0)
    return float(np.abs((flux + columns @ weigh(flux, wanted, bends)) / wanted - 1.0).max())
