"""Saturated iron as a balanced sinusoid sees it: what a core or a main path draws beyond its linear part.

Per unit of a flux of magnitude a > K, a knee, a core with three limbs draws the fundamental

    k (1 - 2/pi (asin r + r sqrt(1 - r^2))),   r = K/a

more than its linear part (describing function of a dead zone), the main path of a machine, whose rotating flux
saturates by its magnitude, k (1 - r); a curve with several knees draws the sum.  Divided by s this is an admittance
across the voltage that drives the flux.

Source: A. Gelb, W. E. Vander Velde, *Multiple-Input Describing Functions and Nonlinear System Design*, 1968 (from
memory, to be checked).  `sim.kernels.envelope.ports` and `sim.kernels.elements.machine` hold the same.
"""

import numpy as np


def core_slope(excess: np.ndarray, knee: np.ndarray, flux: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """What a core draws beyond its linear part, per unit of flux, and how that changes with the flux.

    Parameters
    ----------
    excess, knee : ndarray, shape (P, KNEES)
        k, what each knee adds to the inverse inductance [1/H], and its magnitude of the flux linkage [V s]; an infinite
        one never saturates.
    flux : ndarray, shape (..., P)
        [V s]

    Returns
    -------
    slope, rate : ndarray, shape (..., P)
        [1/H], [1/(H V s)]

    Checked by
    ----------
    tests/phasors/test_saturation.py
    """
    r, size = exceed(knee, flux)
    root = np.sqrt(1.0 - r * r)
    share = np.where(r < 1.0, 1.0 - 2.0 / np.pi * (np.arcsin(r) + r * root), 0.0)
    return np.sum(excess * share, axis=-1), np.sum(excess * 4.0 / np.pi * root * r / size, axis=-1)


def main_slope(excess: np.ndarray, knee: np.ndarray, flux: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The same of a machine's main path."""
    r, size = exceed(knee, flux)
    return np.sum(excess * (1.0 - r), axis=-1), np.sum(excess * r / size, axis=-1)


def exceed(knee: np.ndarray, flux: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Knee over flux, and the flux, shape (..., P, KNEES); 1 and infinite up to the knee."""
    size = flux[..., None]
    beyond = size > knee
    return np.where(beyond, knee, 1.0) / np.where(beyond, size, 1.0), np.where(beyond, size, np.inf)
