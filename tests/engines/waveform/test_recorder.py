"""The recorder: blocks of samples in their order, and the latest of them."""

import numpy as np
import pytest

from engines.circuits import breaker, build, grid, machine
from sim.engines.waveform.recorder import Recorder


@pytest.fixture
def recorder():
    """Three blocks of 5, 3 and 4 rows, 1 ms apart."""
    _, network = build(grid(), breaker("bus", "head"), machine("head"))
    found, k = Recorder(network, block=8), 0
    for rows in (5, 3, 4):
        for row in range(rows):
            found.block.t[row], found.block.v[row] = 1e-3 * k, 10.0 * k
            k += 1
        found.keep(rows)
    return found


def test_blocks_are_joined_in_their_order(recorder):
    samples = recorder.joined()
    assert samples.t == pytest.approx(1e-3 * np.arange(12))
    assert samples.v[:, 0, 0] == pytest.approx(10.0 * np.arange(12))
    assert {len(part) for part in samples} == {12}


def test_what_is_kept_does_not_change_with_the_block(recorder):
    recorder.block.v[:] = -1.0
    assert (recorder.joined().v >= 0.0).all()


@pytest.mark.parametrize("span, first", [(0.0, 11), (2.5e-3, 9), (6e-3, 5), (1.0, 0)])
def test_latest_samples_reach_back_over_blocks(recorder, span, first):
    assert recorder.latest(span + 1e-9).t == pytest.approx(1e-3 * np.arange(first, 12))


def test_nothing_is_kept_of_a_call_that_stored_nothing(recorder):
    recorder.keep(0)
    assert len(recorder.blocks) == 3
    recorder.blocks = []
    assert recorder.joined() is None
