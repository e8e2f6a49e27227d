"""Which stored points of a waveform stretch a straight line between their neighbours replaces."""

import numpy as np

from sim.kernels.waveform.sampling import Samples
from sim.network.tables import DAMPING

TOLERANCE = 5e-4        # what a dropped point may lie off, of the largest value around it in any coordinate
FLOOR = 1e-3            # and that largest value at least, of the largest of the stretch
LONGEST = 32            # most intervals that one line replaces
BLOCK = 4096            # rows around a point that count
CLOSE = 0.9             # points closer than this share of the regular interval are there on purpose and stay


def thin(network, samples, interval):
    """Samples without the points that lie on a line, within TOLERANCE, for node voltages and currents alike.

    Parameters
    ----------
    network : Network
    samples : Samples
    interval : float
        Regular distance of stored points. [s]

    Checked by
    ----------
    tests/engines/waveform/test_thinning.py
    """
    count, stator = len(samples.t), samples.stator
    told = [b for b, name in enumerate(network.link_names) if not name.endswith(DAMPING)]
    parts = [samples.v, samples.i[..., told], samples.cable[:, 0], samples.cable[:, 1], samples.pole.swapaxes(1, 2),
             np.stack([stator.real, stator.imag, 0.0 * stator.real], axis=1)]
    values = np.concatenate([part.reshape(count, 3, -1) for part in parts], axis=2)
    largest = np.abs(values).max(axis=(0, 1))
    keep = np.concatenate([choose(samples.t[rows], values[rows], interval, largest) for rows in list_blocks(count)])
    return Samples(*(part[keep] for part in samples))


def list_blocks(count):
    """Rows of each block."""
    return [slice(first, min(first + BLOCK, count)) for first in range(0, count, BLOCK)]


def choose(t, values, interval, largest):
    """Which rows of a block stay, (n,) of bool: its first and last always; values has shape (n, 3, quantities)."""
    n = len(t)
    keep = np.ones(n, dtype=bool)
    allowed = TOLERANCE * np.maximum(np.abs(values).max(axis=(0, 1)), FLOOR * largest)
    scaled = (values / np.where(allowed > 0.0, allowed, np.inf)).reshape(n, -1)
    merged, length = np.diff(t) >= CLOSE * interval, 2
    while length <= min(LONGEST, n - 1):
        merged = merged[:len(merged) // 2 * 2].reshape(-1, 2).all(axis=1)
        first = length * np.flatnonzero(merged)
        rows = first[:, None] + np.arange(length + 1)
        straight = are_straight(t[rows], scaled[rows])
        merged[merged] = straight
        keep[rows[straight, 1:-1]] = False
        length *= 2
    return keep


def are_straight(t, scaled):
    """Whether all points of each span lie within 1 of the line from its first to its last, shape (spans,) of bool."""
    share = ((t - t[:, :1]) / (t[:, -1:] - t[:, :1]))[..., None]
    off = scaled - scaled[:, :1] - share * (scaled[:, -1:] - scaled[:, :1])
    return (np.abs(off) <= 1.0).all(axis=(1, 2))
