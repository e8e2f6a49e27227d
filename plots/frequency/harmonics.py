"""Harmonics of a signal over the last cycle, followed through time."""

import numpy as np

POINTS = 128        # a cycle


def slide_harmonics(t, y, frequency, orders):
    """Amplitude of some harmonics over the cycle that ends at each time.

    Parameters
    ----------
    t, y : ndarray, shape (n,)
        Time, increasing [s], and any signal; it is taken straight between samples.
    frequency : float
        Of the fundamental. [Hz]
    orders : sequence of int
        0 < order < 32.

    Returns
    -------
    t : ndarray, shape (m,)
        End of each window [s]; empty when the signal is shorter than a cycle.
    amplitudes : ndarray, shape (len(orders), m)
        Crest of each harmonic, in the unit of `y`.

    Checked by
    ----------
    tests/plots/frequency/test_plot_harmonics.py
    """
    step = 1.0 / (POINTS * frequency)
    grid = t[0] + step * np.arange(int((t[-1] - t[0]) / step * (1.0 + 1e-12)) + 1)
    if len(grid) <= POINTS:
        return np.empty(0), np.empty((len(orders), 0))
    turns = np.outer(orders, np.arange(len(grid))) / POINTS
    sums = np.cumsum(np.interp(grid, t, y) * np.exp(-2j * np.pi * turns), axis=1)
    return grid[POINTS:], 2.0 / POINTS * np.abs(sums[:, POINTS:] - sums[:, :-POINTS])


def share_of_second(t, y, frequency, least):
    """Second harmonic in per cent of the fundamental over time.

    `least` is the fundamental below which the share says nothing, in the unit of `y`; there it is NaN.

    Returns
    -------
    t, share : ndarray, shape (m,)
        [s], [%]
    """
    ends, (first, second) = slide_harmonics(t, y, frequency, (1, 2))
    known = first > least
    return ends, np.where(known, 100.0 * second / np.where(known, first, 1.0), np.nan)
