"""Points of the map: fluxes of the saturable paths by Newton, all points at once.

With a_k the flux of path k and y_k = slope_k(a_k)/(j w) what it draws beyond its linear part, the voltages of the
paths follow from one small linear solve, (1 + Z diag(y)) v = V v_open.  The fluxes must be those they were taken for:
a_k = |v_k|/w, solved by Newton with the exact derivative and a step that is halved until the residual falls.
"""

from typing import NamedTuple

import numpy as np

from sim.errors import SolveError
from sim.studies.window.standstill import Paths, Standstill

SOLVED = 1e-11          # residual of a flux, of the knee
MOST_STEPS = 60
MOST_HALVINGS = 12


class Points(NamedTuple):
    """Phasors of n points.

    Attributes
    ----------
    emf : ndarray, shape (n,)
        Line-to-line RMS voltage behind the drive's output impedance. [V]
    torque : ndarray, shape (n, A)
        Air-gap torque of each machine at standstill. [N m]
    current : ndarray, shape (n,)
        RMS phase current of the drive. [A]
    flux : ndarray, shape (n, P)
        Of each path, fundamental, per unit of rated flux. [1]
    idle_flux : ndarray, shape (n, P)
        The same once the motors turn without load. [1]
    voltage : ndarray, shape (n, N)
        Line-to-line RMS voltage of each node. [V]
    """

    emf: np.ndarray
    torque: np.ndarray
    current: np.ndarray
    flux: np.ndarray
    idle_flux: np.ndarray
    voltage: np.ndarray


def solve_points(still: Standstill, at: np.ndarray, emf: np.ndarray) -> Points:
    """Phasors at given frequencies and drive voltages.

    Parameters
    ----------
    still : Standstill
    at : ndarray of int, shape (n,)
        Which of its frequencies each point has.
    emf : ndarray, shape (n,)
        [V]  >= 0

    Returns
    -------
    Points

    Raises
    ------
    SolveError
        When Newton does not find the fluxes of a point.

    Checked by
    ----------
    tests/studies/test_standstill.py
    """
    w = 2.0 * np.pi * still.hz[at]
    flux, v = find_fluxes(still, at, emf, w)
    drawn = find_slopes(still.paths, flux)[0] / (1j * w[:, None]) * v
    torque = still.pull[at] * np.abs(v[:, :still.pull.shape[1]]) ** 2
    current = emf * still.open_i[at] + np.einsum("np,np->n", still.share[at], drawn)
    nodes = emf[:, None] * still.open_node[at] - np.einsum("nkp,np->nk", still.z_node[at], drawn)
    idle, _ = find_fluxes(still.idle, at, emf, w)
    return Points(emf, torque, np.abs(current) / np.sqrt(3.0), flux / still.paths.rated, idle / still.paths.rated,
                  np.abs(nodes))


def find_flux(points: Points) -> np.ndarray:
    """Larger flux of each path of standstill and turning, per unit of rated flux, shape (n, P). [1]"""
    return np.maximum(points.flux, points.idle_flux)


def find_fluxes(still: Standstill, at: np.ndarray, emf: np.ndarray, w: np.ndarray):
    """Flux [V s] and voltage [V] of every path at every point, shapes (n, P)."""
    open_v = emf[:, None] * still.open_v[at]
    flux, v = np.abs(open_v) / w[:, None], open_v.copy()
    left = np.flatnonzero((flux > still.paths.knee).any(axis=1))
    for _ in range(MOST_STEPS):
        if not len(left):
            return flux, v
        a, step, v[left], error = take_step(still, at[left], open_v[left], flux[left], w[left])
        flux[left] = a
        done = error < SOLVED
        flux[left[~done]] = search(still, at[left[~done]], open_v[left[~done]], a[~done], step[~done], w[left[~done]],
                                   error[~done])
        left = left[~done]
    raise SolveError("network", 0.0, f"no fluxes of the saturated cores found at {still.hz[at[left[0]]]:.3g} Hz and "
                                     f"{emf[left[0]]:.4g} V of the drive: the cores may resonate with the cable")


def take_step(still: Standstill, at: np.ndarray, open_v: np.ndarray, flux: np.ndarray, w: np.ndarray):
    """Fluxes, Newton step, voltages and largest residual of each point."""
    slope, rate = find_slopes(still.paths, flux)
    s = 1j * w[:, None]
    matrix = np.eye(flux.shape[1]) + still.z[at] * (slope / s)[:, None, :]
    v = np.linalg.solve(matrix, open_v[..., None])[..., 0]
    residual = flux - np.abs(v) / w[:, None]
    turn = np.linalg.solve(matrix, still.z[at] * (rate / s * v)[:, None, :])    # -dv/da
    unit = np.conj(v) / np.maximum(np.abs(v), 1e-300)
    jacobian = np.eye(flux.shape[1]) + np.real(unit[:, :, None] * turn) / w[:, None, None]
    step = -np.linalg.solve(jacobian, residual[..., None])[..., 0]
    return flux, step, v, np.abs(residual / still.paths.rated).max(axis=1)


def search(still: Standstill, at: np.ndarray, open_v: np.ndarray, flux: np.ndarray, step: np.ndarray, w: np.ndarray,
           error: np.ndarray) -> np.ndarray:
    """Fluxes after the largest step, halved at most so many times, at which the residual falls."""
    share = np.ones(len(flux))
    for _ in range(MOST_HALVINGS):
        trial = np.maximum(flux + share[:, None] * step, 0.0)
        worse = find_error(still, at, open_v, trial, w) >= error
        if not worse.any():
            break
        share[worse] *= 0.5
    return np.maximum(flux + share[:, None] * step, 0.0)


def find_error(still: Standstill, at: np.ndarray, open_v: np.ndarray, flux: np.ndarray, w: np.ndarray) -> np.ndarray:
    """Largest residual of each point, of rated flux. [1]"""
    slope, _ = find_slopes(still.paths, flux)
    matrix = np.eye(flux.shape[1]) + still.z[at] * (slope / (1j * w[:, None]))[:, None, :]
    v = np.linalg.solve(matrix, open_v[..., None])[..., 0]
    return np.abs((flux - np.abs(v) / w[:, None]) / still.paths.rated).max(axis=1)


def find_slopes(paths: Paths, flux: np.ndarray):
    """What each path draws beyond its linear part per unit of flux, and how that changes with the flux.

    Parameters
    ----------
    flux : ndarray, shape (n, P)
        [V s]

    Returns
    -------
    slope, rate : ndarray, shape (n, P)
        [1/H], [1/(H V s)]

    Notes
    -----
    A core has the describing function of a dead zone, a machine's main path two straight lines:
    k (1 - 2/pi (asin r + r sqrt(1 - r^2))) and k (1 - r) with r the knee over the flux.
    """
    beyond = flux > paths.knee
    size = np.where(beyond, flux, 1.0)
    r = np.where(beyond, np.where(beyond, paths.knee, 0.0) / size, 1.0)
    root = np.sqrt(1.0 - r * r)
    slope = np.where(paths.is_core, 1.0 - 2.0 / np.pi * (np.arcsin(r) + r * root), 1.0 - r)
    rate = np.where(paths.is_core, 4.0 / np.pi * root * r, r) / size
    return paths.excess * np.where(beyond, slope, 0.0), paths.excess * np.where(beyond, rate, 0.0)
