"""Points of the map: phasors at given start frequencies and drive voltages."""

from typing import NamedTuple

import numpy as np

from sim.phasors.fluxes import find_fluxes
from sim.studies.window.standstill import Standstill


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
    tests/studies/test_window.py
    """
    blocked, idle = still
    flux, v, drawn = find_fluxes(blocked, at, emf)
    torque = blocked.pull[at] * np.abs(v[:, :blocked.pull.shape[1]]) ** 2
    current = emf * blocked.open_i[at] + np.einsum("np,np->n", blocked.share[at], drawn)
    nodes = emf[:, None] * blocked.open_node[at] - np.einsum("nkp,np->nk", blocked.z_node[at], drawn)
    idle_flux, _, _ = find_fluxes(idle, at, emf)
    return Points(emf, torque, np.abs(current) / np.sqrt(3.0), flux / blocked.paths.rated,
                  idle_flux / idle.paths.rated, np.abs(nodes))


def find_flux(points: Points) -> np.ndarray:
    """Larger flux of each path of standstill and turning, per unit of rated flux, shape (n, P). [1]"""
    return np.maximum(points.flux, points.idle_flux)
