"""Fluxes of saturable paths by Newton's method, many points at once.

With a_k the flux of path k and y_k = slope_k(a_k)/(j w) what it draws beyond its linear part, the voltages of the
paths follow from one small linear solve, (1 + Z diag(y)) v = V v_open.  The fluxes must be those they were taken for:
a_k = |v_k|/w, solved by Newton with the exact derivative and a step that is halved until the residual falls.
"""

import numpy as np

from sim.errors import SolveError
from sim.phasors.reduction import Paths, Reduced
from sim.phasors.saturation import core_slope, main_slope

SOLVED = 1e-11          # residual of a flux, of rated flux
MOST_STEPS = 60
MOST_HALVINGS = 12


def find_fluxes(reduced: Reduced, at: np.ndarray, emf: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Flux and voltage of every path, and what it draws beyond its linear part.

    Parameters
    ----------
    reduced : Reduced
    at : ndarray of int, shape (n,)
        Which of its frequencies each point has.
    emf : ndarray, shape (n,)
        Voltage of the source. [V]  >= 0

    Returns
    -------
    flux, v, drawn : ndarray, shape (n, P)
        Magnitude [V s]; complex [V] and [A].

    Raises
    ------
    SolveError
        When Newton does not find the fluxes of a point.
    """
    w = 2.0 * np.pi * reduced.hz[at]
    open_v = emf[:, None] * reduced.open_v[at]
    flux, v = np.abs(open_v) / w[:, None], open_v.copy()
    left = np.flatnonzero((flux > reduced.paths.knee[:, 0]).any(axis=1))
    for _ in range(MOST_STEPS):
        if not len(left):
            return flux, v, find_slopes(reduced.paths, flux)[0] / (1j * w[:, None]) * v
        step, v[left], error = find_step(reduced, at[left], open_v[left], flux[left], w[left])
        kept = error >= SOLVED
        left, step, error = left[kept], step[kept], error[kept]
        flux[left] = search(reduced, at[left], open_v[left], flux[left], step, w[left], error)
    raise SolveError("network", 0.0, f"no fluxes of the saturated cores found at {reduced.hz[at[left[0]]]:.3g} Hz and "
                                     f"{emf[left[0]]:.4g} V of the drive: the cores may resonate with the cable")


def find_step(reduced: Reduced, at: np.ndarray, open_v: np.ndarray, flux: np.ndarray,
              w: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Newton step [V s], voltages [V] and largest residual of each point, of rated flux [1]."""
    slope, rate = find_slopes(reduced.paths, flux)
    s = 1j * w[:, None]
    matrix, v = load_paths(reduced, at, open_v, slope, w)
    residual = flux - np.abs(v) / w[:, None]
    turn = np.linalg.solve(matrix, reduced.z[at] * (rate / s * v)[:, None, :])      # -dv/da
    unit = np.conj(v) / np.maximum(np.abs(v), 1e-300)
    jacobian = np.eye(flux.shape[1]) + np.real(unit[:, :, None] * turn) / w[:, None, None]
    step = -np.linalg.solve(jacobian, residual[..., None])[..., 0]
    return step, v, np.abs(residual / reduced.paths.rated).max(axis=1)


def search(reduced: Reduced, at: np.ndarray, open_v: np.ndarray, flux: np.ndarray, step: np.ndarray, w: np.ndarray,
           error: np.ndarray) -> np.ndarray:
    """Fluxes after the largest step, halved at most so many times, at which the residual falls."""
    share = np.ones(len(flux))
    for _ in range(MOST_HALVINGS):
        trial = np.maximum(flux + share[:, None] * step, 0.0)
        worse = find_error(reduced, at, open_v, trial, w) >= error
        if not worse.any():
            break
        share[worse] *= 0.5
    return np.maximum(flux + share[:, None] * step, 0.0)


def find_error(reduced: Reduced, at: np.ndarray, open_v: np.ndarray, flux: np.ndarray, w: np.ndarray) -> np.ndarray:
    """Largest residual of each point, of rated flux. [1]"""
    _, v = load_paths(reduced, at, open_v, find_slopes(reduced.paths, flux)[0], w)
    return np.abs((flux - np.abs(v) / w[:, None]) / reduced.paths.rated).max(axis=1)


def load_paths(reduced: Reduced, at: np.ndarray, open_v: np.ndarray, slope: np.ndarray,
               w: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Matrix 1 + Z diag(slope/(j w)), shape (n, P, P), and the voltages [V] of the paths that follow, shape (n, P)."""
    matrix = np.eye(slope.shape[1]) + reduced.z[at] * (slope / (1j * w[:, None]))[:, None, :]
    return matrix, np.linalg.solve(matrix, open_v[..., None])[..., 0]


def find_slopes(paths: Paths, flux: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """What each path draws beyond its linear part per unit of flux [1/H], and how that changes with the flux
    [1/(H V s)], shapes (n, P)."""
    pairs = zip(core_slope(paths.excess, paths.knee, flux), main_slope(paths.excess, paths.knee, flux))
    slope, rate = (np.where(paths.is_core, core, main) for core, main in pairs)
    return slope, rate
