r"""Lossless three-phase line closed pole by pole on to an ideal source, exact at multiples of a time step.

Waves travel in the zero sequence (the mean of the phases) and in what is left of the phases, each with its own surge
impedance Z and travel time of a whole number of steps.  With currents into the line at both ends, the wave that
reaches an end is what left the other one a travel time ago,

    v1(t) - Z i1(t) = v2(t - T) + Z i2(t - T)

for each sequence, and likewise from the other side.  A closed pole holds its phase at the source, an open one holds
its current at zero; the far end is open or has a resistance to earth in each phase.

Source: L. V. Bewley, *Traveling Waves on Transmission Systems*, 1933 (waves of several conductors), from memory, to
be checked.
"""

from typing import Callable, NamedTuple

import numpy as np

from .three_phase import phase_matrix


class Waves(NamedTuple):
    """Surge impedances [ohm] and travel times in steps, zero and positive sequence."""

    zero_surge: float
    zero_steps: int
    surge: float
    steps: int


class Ends(NamedTuple):
    """Time (m,) [s]; voltages at both ends and currents into the near one, (m, 3) [V], [A]."""

    t: np.ndarray
    near: np.ndarray
    far: np.ndarray
    current: np.ndarray


def energise(waves: Waves, step, count, emf: Callable, closings, charge=(0.0, 0.0, 0.0), load=np.inf) -> Ends:
    """Ends of the line over `count` steps [s] from t = 0.

    Parameters
    ----------
    emf : callable
        Time [s] -> phase emfs (3,). [V]
    closings : three floats
        When each pole closes; inf never. [s]
    charge : three floats
        Voltage left on each phase. [V]
    load : float
        Resistance of each phase to earth at the far end; inf open. [ohm]
    """
    surge = phase_matrix(waves.zero_surge, waves.surge).real
    t = step * np.arange(count)
    near, far, into = (np.empty((count, 3)) for _ in range(3))
    out = [np.tile(np.asarray(charge, dtype=float), (count, 1)) for _ in range(2)]     # v + Z i leaving either end
    for k in range(count):
        first, second = (_arriving(waves, out[1 - end], charge, k) for end in (0, 1))
        near[k], into[k] = _near_end(surge, first, emf(t[k]), closings <= t[k] + 1e-6 * step)
        far[k] = second if np.isinf(load) else np.linalg.solve(np.eye(3) + surge / load, second)
        back = np.zeros(3) if np.isinf(load) else -far[k] / load
        out[0][k] = near[k] + surge @ into[k]
        out[1][k] = far[k] + surge @ back
    return Ends(t, near, far, into)


def _arriving(waves, left, charge, k):
    """What left the other end a travel time ago, sequence by sequence."""
    def before(steps):
        return left[k - steps] if k >= steps else np.asarray(charge, dtype=float)

    late = before(waves.steps)
    return late - late.mean() + before(waves.zero_steps).mean()


def _near_end(surge, arriving, emf, closed):
    """Voltage and current of the near end: emf behind closed poles, no current through open ones."""
    current = np.zeros(3)
    on = np.flatnonzero(closed)
    current[on] = np.linalg.solve(surge[np.ix_(on, on)], (emf - arriving)[on])
    return arriving + surge @ current, current
