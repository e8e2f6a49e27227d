"""What is followed at every step of the waveform engine: peaks and alternation."""

import numpy as np
import pytest

from sim.kernels.waveform import sampling
from sim.network.tables import CLARKE

pytestmark = pytest.mark.usefixtures("plain_python")


def test_peaks_are_the_largest_phase_and_line_voltages():
    rng = np.random.default_rng(1)
    phases, peak = rng.normal(size=(40, 3, 2)), np.zeros((2, 4))
    for k, at in enumerate(phases):
        sampling.follow_peaks(CLARKE, CLARKE @ at, 0.1 * k, peak)
    earth = np.abs(phases).max(axis=1)
    lines = np.abs(phases - np.roll(phases, -1, axis=1)).max(axis=1)
    assert peak[:, 0] == pytest.approx(earth.max(axis=0)) and peak[:, 1] == pytest.approx(0.1 * earth.argmax(axis=0))
    assert peak[:, 2] == pytest.approx(lines.max(axis=0)) and peak[:, 3] == pytest.approx(0.1 * lines.argmax(axis=0))


@pytest.mark.parametrize("values, longest", [
    ((-1.0) ** np.arange(12), 10),                                      # the first change has none before it
    (np.cos(0.2 * np.arange(200)), 1),                                  # turns once a half period
    (1e-3 * (-1.0) ** np.arange(12), 0),                                # below the noise
    (0.5 ** np.arange(12) * (-1.0) ** np.arange(12), 0)])               # dies away faster than LASTING
def test_chatter_is_an_alternation_that_lasts(values, longest):
    delta, turns = np.zeros((3, 1)), np.zeros((3, 1), np.int64)
    chatter, noise = np.zeros(1, np.int64), np.array([0.01])
    for old, new in zip(values, values[1:]):
        before, after = np.zeros((3, 1)), np.zeros((3, 1))
        before[1], after[1] = old, new
        sampling.follow_chatter(before, after, delta, turns, noise, chatter)
    assert chatter[0] == longest
