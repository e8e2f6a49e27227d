"""Stored points that a line replaces: how far off it may be, and which points stay whatever they hold."""

from types import SimpleNamespace

import numpy as np

from sim.engines.waveform.thinning import TOLERANCE, thin
from sim.kernels.waveform.sampling import Samples

INTERVAL = 2e-5
NETWORK = SimpleNamespace(link_names=["line", "coil.damping"])


def store(t, volts, amps=0.0, beside=0.0):
    """Samples of one node, two links and no more."""
    m = len(t)
    v, i = np.zeros((m, 3, 1)), np.zeros((m, 3, 2))
    v[:, 0, 0], i[:, 0, 0], i[:, 0, 1] = volts, amps, beside
    return Samples(t, v, i, np.zeros((m, 2, 3, 0)), np.zeros((m, 0, 3)), np.zeros((m, 0)), np.zeros((m, 0), complex),
                   np.zeros((m, 0, 5)), np.zeros((m, 0, 6)))


def test_a_sinusoid_keeps_its_shape_with_a_fraction_of_its_points():
    """Chords of a sine of angle x lie x^2/8 off: 6 to 32 intervals of 20 us at 50 Hz within the tolerance."""
    t = INTERVAL * np.arange(20000)
    volts = 5e3 * np.sin(2.0 * np.pi * 50.0 * t)
    kept = thin(NETWORK, store(t, volts), INTERVAL)
    assert 4.0 < len(t) / len(kept.t) < 32.0
    assert np.abs(np.interp(t, kept.t, kept.v[:, 0, 0]) - volts).max() <= 1.01 * TOLERANCE * 5e3
    assert kept.t[0] == t[0] and kept.t[-1] == t[-1]


def test_a_ring_of_any_quantity_keeps_its_points():
    t = INTERVAL * np.arange(4000)
    smooth, ring = np.ones_like(t), 10.0 * np.sin(2.0 * np.pi * 9e3 * t)
    assert len(thin(NETWORK, store(t, smooth), INTERVAL).t) < len(t) / 20
    assert len(thin(NETWORK, store(t, smooth, ring), INTERVAL).t) > 0.9 * len(t)


def test_currents_that_are_no_results_do_not_count():
    t = INTERVAL * np.arange(4000)
    ring = 10.0 * np.sin(2.0 * np.pi * 9e3 * t)
    assert len(thin(NETWORK, store(t, np.ones_like(t), 0.0, ring), INTERVAL).t) < len(t) / 20


def test_points_closer_than_the_regular_interval_stay():
    t = np.concatenate([4e-6 * np.arange(500), 2e-3 + INTERVAL * np.arange(1000)])
    kept = thin(NETWORK, store(t, np.ones_like(t)), INTERVAL)
    assert np.isin(t[:500], kept.t).all() and len(kept.t) < 600
