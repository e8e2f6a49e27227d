"""Sources in an envelope stage: space vectors in the frames of their islands, current of a link by its equation."""

from types import SimpleNamespace

import numpy as np
import pytest

from sim.kernels.columns import SOURCE_GRID
from sim.kernels.envelope import sources

pytestmark = pytest.mark.usefixtures("plain_python")


def test_current_of_a_sources_link_solves_its_stage():
    """L (1/d + j w) i - L e_i/d + R i + u = push + wt v, u (1/d + j w) - e_u/d = S i, at the junction's v = z rhs."""
    d, w, inductance, r, elastance, weight = 1e-3, 200.0, 0.02, 1.5, 3e3, -np.exp(0.3j)
    turn = 1.0 + 1j * w * d
    back = 1.0 / turn
    y = d / (inductance * turn + d * r + d * d * elastance * back)
    links = SimpleNamespace(start=np.array([-1]), end=np.array([0]), l=np.full((2, 1), inductance),
                            wt=np.array([weight]))
    linear = SimpleNamespace(link_y=np.array([y]), link_q=np.array([back]), z=np.array([[40.0 - 9j]]))
    layout = SimpleNamespace(link=1, capacitor=2)
    e, push, rhs = np.array([0j, 12.0 - 4j, 80.0 + 30j]), np.array([500.0 + 70j]), np.array([3.0 + 1j])
    i = sources.link_current(layout, links, linear, d, 0, e, push, rhs)
    v = linear.z[0, 0] * rhs[0]
    u = (e[2] + d * elastance * i) / turn
    assert inductance * (turn * i - e[1]) / d + r * i + u == pytest.approx(push[0] + weight * v)


@pytest.mark.parametrize("frame_w, elapsed", [(314.0, 0.0), (314.0, 2e-3), (300.0, 2e-3), (0.0, 1e-3)])
def test_a_grid_stands_still_in_its_own_frame_and_turns_in_any_other(frame_w, elapsed):
    """V exp(j (w t + phase)) in the stationary frame, less the angle of the frame; a dead one gives nothing."""
    w, volts, phase, theta, t = 314.0, 1e4, 0.3, 0.8, 0.05
    grids = SimpleNamespace(kind=np.full(2, SOURCE_GRID), island=np.array([0, 0]), w=np.array([w, w]),
                            volts=np.array([volts, 5.0]), link=np.array([1, 0]))
    state = SimpleNamespace(live=np.array([1, 0]), theta=np.array([theta]), phase=np.array([phase, 0.0]))
    push, none = np.ones(2, complex), np.zeros(0)
    lost = sources.push_sources(None, grids, None, state, np.array([frame_w]), t, elapsed, 1e-3, none, none, none, push)
    assert lost == 0.0
    assert push[0] == 0.0
    stationary = push[1] * np.exp(1j * (theta + frame_w * elapsed))
    assert stationary == pytest.approx(volts * np.exp(1j * (w * t + phase)))
