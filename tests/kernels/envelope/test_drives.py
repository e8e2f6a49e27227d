"""Drives in an envelope stage: the current of a source's link by its own equation."""

from types import SimpleNamespace

import numpy as np
import pytest

from sim.kernels.envelope import drives

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
    e, push, rhs = np.array([0j, 12.0 - 4j, 80.0 + 30j]), np.array([500.0 + 70j]), np.array([3.0 + 1j])
    i = drives.link_current(links, linear, d, 0, e, 1, push, rhs)
    v = linear.z[0, 0] * rhs[0]
    u = (e[2] + d * elastance * i) / turn
    assert inductance * (turn * i - e[1]) / d + r * i + u == pytest.approx(push[0] + weight * v)
