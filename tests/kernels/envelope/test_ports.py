"""Ports of the envelope engine: the describing function of a dead zone against its own Fourier integral."""

from types import SimpleNamespace

import numpy as np
import pytest
from factories import bend
from scipy.integrate import quad

from sim.kernels.envelope import ports
from sim.network.layout import make_layout

pytestmark = pytest.mark.usefixtures("plain_python")


@pytest.mark.parametrize("size", [0.5, 1.0, 1.001, 1.2, 2.0, 30.0])
def test_core_slope_is_the_fundamental_of_a_limb(size):
    """b1/a = 1/(pi a) integral of f(a sin u) sin u over a turn, f(x) = k (|x| - K) beyond the knee K."""
    excess, knee = 3.0, 1.0
    start = np.arcsin(min(knee / size, 1.0))
    area, _ = quad(lambda u: (size * np.sin(u) - knee) * np.sin(u), start, 0.5 * np.pi)
    expected = 4.0 * excess * area / (np.pi * size) if size > knee else 0.0
    assert ports.core_slope(*bend(knee, excess)[::-1], size) == pytest.approx(expected, rel=1e-9, abs=1e-12)


def test_far_beyond_its_knee_a_core_is_its_air_core():
    assert ports.core_slope(*bend(1.0, 3.0)[::-1], 1e6) == pytest.approx(3.0, rel=1e-5)


def test_voltages_close_with_what_the_ports_draw():
    """v = z (injected - (i_h + y v) at the ports), by numpy.linalg.solve."""
    rng = np.random.default_rng(2)
    n, at = 4, np.array([0, 2, 2])
    z = rng.normal(size=(n, n)) + 1j * rng.normal(size=(n, n))
    rhs, i_h, y = (rng.normal(size=k) + 1j * rng.normal(size=k) for k in (n, 3, 3))
    sees = np.eye(n)[at]
    expected = np.linalg.solve(np.eye(n) + z @ sees.T @ np.diag(y) @ sees, z @ (rhs - sees.T @ i_h))
    left, a, v = rhs.copy(), np.zeros((3, 3), complex), np.zeros(3, complex)
    ports.close_ports(3, at, z, i_h, y, left, a, v)
    assert v == pytest.approx(expected[at], rel=1e-10)
    assert z @ left == pytest.approx(expected, rel=1e-10)


def make_tables(flux):
    """A core of 2 H beside one machine without saturation: its link current makes the flux."""
    (knee, excess), (high, none) = bend(1.0, 1.0), bend(9.0, 0.0)
    machines = SimpleNamespace(node=np.array([0]), leak=np.ones((1, 3)), whole=np.ones(1), knee=high[None],
                               excess=none[None])
    tables = SimpleNamespace(
        machines=machines, cores=SimpleNamespace(link=np.array([0]), knee=knee[None], excess=excess[None]),
        links=SimpleNamespace(l=np.full((2, 1), 2.0)), nodes=SimpleNamespace(c=np.zeros((2, 1))),
        drives=SimpleNamespace(front=np.array([-1])), layout=make_layout(1, 1, 0, 0, 1, 1, 1))
    x = np.zeros(tables.layout.columns, complex)
    x[tables.layout.link] = 0.5j * flux
    return tables, x


@pytest.mark.parametrize("flux, counts", [(0.9, False), (0.96, True), (1.5, True)])
def test_a_flux_counts_from_just_below_its_knee(flux, counts):
    tables, x = make_tables(flux)
    assert ports.flux_of(tables, x, 1) == pytest.approx(flux)
    near, chosen = np.zeros(2, np.int64), np.zeros(tables.layout.scalars, np.int64)
    count = ports.choose_scalars(tables, x, np.array([1]), np.zeros(2, np.int64), near, chosen)
    # the machine's speed, both parts of the drive's current, and the flux
    assert chosen[:count].tolist() == [0, 1, 2] + ([8] if counts else [])


def test_a_flux_that_passed_its_knee_unseen_is_named():
    tables, x = make_tables(1.5)
    forced = np.zeros(2, np.int64)
    assert ports.find_missed(tables, x, np.zeros(2, np.int64), forced) and forced.tolist() == [0, 1]
    assert not ports.find_missed(tables, x, np.array([0, 1]), np.zeros(2, np.int64))
