"""Sources in an envelope stage: their space vectors in the frames of their islands."""

from types import SimpleNamespace

import numpy as np
import pytest

from sim.kernels.envelope import stage

pytestmark = pytest.mark.usefixtures("plain_python")


@pytest.mark.parametrize("frame_w, elapsed", [(314.0, 0.0), (314.0, 2e-3), (300.0, 2e-3), (0.0, 1e-3)])
def test_a_grid_stands_still_in_its_own_frame_and_turns_in_any_other(frame_w, elapsed):
    """V exp(j (w t + phase)) in the stationary frame, less the angle of the frame; a dead one gives nothing."""
    w, volts, phase, theta, t = 314.0, 1e4, 0.3, 0.8, 0.05
    sources = SimpleNamespace(drive=np.array([-1, -1]), island=np.array([0, 0]), w=np.array([w, w]),
                              phase=np.array([phase, 0.0]), volts=np.array([volts, 5.0]), link=np.array([1, 0]))
    state = SimpleNamespace(live=np.array([1, 0]), theta=np.array([theta]))
    push, none = np.ones(2, complex), np.zeros(0)
    assert stage.source_pushes(sources, state, np.array([frame_w]), t, elapsed, 1e-3, none, none, none, push) == 0.0
    assert push[0] == 0.0
    stationary = push[1] * np.exp(1j * (theta + frame_w * elapsed))
    assert stationary == pytest.approx(volts * np.exp(1j * (w * t + phase)))
