r"""Series impedance over a band as a resistance, an inductance and a few R || L pairs.

    Z(s) = R + s L + sum_k s L_k R_k / (R_k + s L_k)

Every element is positive, so the circuit is passive at all frequencies and not only over the band.  R is the
DC resistance and not fitted.  For given corners R_k/L_k the rest is linear (non-negative least squares,
which gives the start); corners and sizes are then refined together in their logarithms, and reweighted so
that the largest relative error comes down rather than their mean.

Sources
-------
.. [1] Any text on network synthesis: Foster's form of an RL impedance (positive residues, poles on the
       negative real axis), which skin effect has.
.. [2] C. L. Lawson, R. J. Hanson, *Solving Least Squares Problems*, 1974, chapter 23: non-negative least
       squares.
"""

from typing import NamedTuple

import numpy as np
from scipy.optimize import least_squares, nnls

FLOOR = 1e-4            # smallest start of an element, in parts of the largest of its kind
REWEIGHTINGS = 4
MOST_STEPS = 40
HOPELESS = 4.0          # reweighting gains a factor of 2 at best; no fit of 160 cables needed more


class FosterFit(NamedTuple):
    """Circuit of an impedance per length.

    Attributes
    ----------
    resistance, inductance : float
        R at frequency 0 and L far above the band. [ohm/m, H/m]
    branch_resistance, branch_inductance : tuple of float
        The pairs, corner frequency ascending. [ohm/m, H/m]
    error : float
        Largest error of the complex impedance over the band, relative to its magnitude there. [1]
    """

    resistance: float
    inductance: float
    branch_resistance: tuple
    branch_inductance: tuple
    error: float


def foster_impedance(fit, s):
    """Impedance of a fit at complex angular frequency s [rad/s], shape of s. [ohm/m]"""
    s = np.asarray(s, dtype=complex)
    pairs = zip(fit.branch_resistance, fit.branch_inductance)
    return fit.resistance + s * fit.inductance + sum(s * l * r / (r + s * l) for r, l in pairs)


def fit_foster(frequency, impedance, dc_resistance, error=0.01, most=8):
    """Smallest number of pairs that meets an error.

    Parameters
    ----------
    frequency : ndarray, shape (n,)
        Ascending, spread evenly in its logarithm. [Hz]  > 0
    impedance : ndarray, shape (n,), complex
        Of a passive RL line: its resistance and inductance positive. [ohm/m]
    dc_resistance : float
        R at frequency 0. [ohm/m]  > 0
    error : float
        Largest relative error of the complex impedance to accept. [1]
    most : int
        Most pairs. Beyond it the best fit is returned; see its `error`.

    Returns
    -------
    FosterFit

    Raises
    ------
    ValueError
        If DC resistance or inductances are not positive, or no positive inductance fits.
    """
    frequency, impedance = np.asarray(frequency, dtype=float), np.asarray(impedance, dtype=complex)
    if not dc_resistance > 0.0 or not np.all(impedance.imag > 0.0):
        raise ValueError("DC resistance and reactance must be positive at every frequency to be fitted")
    s, best = 2j * np.pi * frequency, None
    for count in range(most + 1):
        found = _fit(s, impedance, dc_resistance, count, error)
        if best is None or found.error < best.error:
            best = found
        if best.error <= error:
            break
    return best


def _fit(s, impedance, dc_resistance, count, error):
    """Fit with a given number of pairs; one that is far from the error is not refined."""
    start, weight = _start(s, impedance, dc_resistance, count), np.ones(s.size)
    best = None
    for _ in range(REWEIGHTINGS):
        start = least_squares(_misfit, start, jac=_slopes, method="trf", max_nfev=MOST_STEPS,
                              args=(s, impedance, dc_resistance, weight)).x
        found = _read(start, s, impedance, dc_resistance)
        if best is None or found.error < best.error:
            best = found
        if best.error > HOPELESS * error:
            break
        size = np.abs(foster_impedance(found, s) / impedance - 1.0)
        weight = weight * np.sqrt(size / size.max() + 1e-3)
        weight = weight / np.sqrt(np.mean(weight**2))
    return best


def _start(s, impedance, dc_resistance, count):
    """Logarithms of L, of the R_k and of the corners, the corners spread over the band."""
    spread = (np.arange(count) + 0.5) / max(count, 1)
    corner = np.abs(s[0]) * (np.abs(s[-1]) / np.abs(s[0])) ** spread
    columns = np.column_stack([s, *(s / (s + a) for a in corner)]) / np.abs(impedance)[:, None]
    wanted = (impedance - dc_resistance) / np.abs(impedance)
    scale = np.linalg.norm(columns, axis=0)
    stacked = np.vstack([columns.real, columns.imag]) / scale
    size = nnls(stacked, np.concatenate([wanted.real, wanted.imag]))[0]
    size = np.maximum(size, FLOOR * size.max()) / scale
    return np.concatenate([np.log(size), np.log(corner)])


def _parts(x, s):
    """Terms s L and R_k s/(s + a_k), one column each, and the corners."""
    count = (x.size - 1) // 2
    size, corner = np.exp(x[: count + 1]), np.exp(x[count + 1:])
    shape = s[:, None] / (s[:, None] + corner)
    return np.column_stack([s, shape]) * size, corner


def _misfit(x, s, impedance, dc_resistance, weight):
    found = dc_resistance + _parts(x, s)[0].sum(axis=1)
    return _stack((found - impedance) * (weight / np.abs(impedance)))


def _slopes(x, s, impedance, _, weight):
    terms, corner = _parts(x, s)
    moved = -terms[:, 1:] * corner / (s[:, None] + corner)
    return _stack(np.column_stack([terms, moved]) * (weight / np.abs(impedance))[:, None])


def _stack(values):
    return np.concatenate([values.real, values.imag])


def _read(x, s, impedance, dc_resistance):
    """Fit from its logarithms, with its error."""
    count = (x.size - 1) // 2
    size, corner = np.exp(x[: count + 1]), np.exp(x[count + 1:])
    order = np.argsort(corner)
    resistance = size[1:][order]
    fit = FosterFit(float(dc_resistance), float(size[0]), tuple(resistance.tolist()),
                    tuple((resistance / corner[order]).tolist()), 0.0)
    return fit._replace(error=float(np.max(np.abs(foster_impedance(fit, s) / impedance - 1.0))))
