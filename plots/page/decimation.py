"""Fewer points for drawing, with every crest kept.

A waveform holds far more samples than a figure has columns.  Each column keeps its first, lowest, highest
and last sample: the drawn line covers the same ink as the full one, and no peak is lost.
"""

import numpy as np

COLUMNS = 1200
KEPT_PER_COLUMN = 4


def thin(t, y, columns=COLUMNS):
    """Samples of a signal that matter for its picture.

    Parameters
    ----------
    t : ndarray, shape (n,)
        Not decreasing, in any unit.
    y : ndarray, shape (n,)
        Any signal on `t`; NaN is a gap in the line and stays one.
    columns : int
        Width of the picture in columns. [1]

    Returns
    -------
    t, y : ndarray, shape (m,)
        A subset of the samples in their order, m <= 4 columns; all of them when they are that few.

    Checked by
    ----------
    tests/plots/page/test_plot_decimation.py
    """
    if len(t) <= KEPT_PER_COLUMN * columns:
        return t, y
    kept = find_kept(t, y, columns)
    return t[kept], y[kept]


def find_kept(t, y, columns):
    """Indices of the first, lowest, highest and last sample of every column, sorted, shape (m,)."""
    edges = np.searchsorted(t, np.linspace(t[0], t[-1], columns + 1)[:-1])
    first = np.unique(edges)
    size = np.diff(np.append(first, len(t)))
    extremes = [find_first(y == np.repeat(least.reduceat(y, first), size), first)
                for least in (np.fmin, np.fmax)]
    return np.unique(np.concatenate([first, *extremes, first + size - 1]))


def find_first(hit, first):
    """Index of the first True at or after each start of a column; only columns that have one."""
    found = np.flatnonzero(hit)
    column = np.searchsorted(first, found, side="right")
    return found[np.unique(column, return_index=True)[1]]
