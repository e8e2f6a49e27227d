"""Nonlinear ports: one on a resistance against brentq, several on a network with a machine against fsolve."""

from types import SimpleNamespace

import numpy as np
import pytest
from scipy.optimize import brentq, fsolve

from sim.kernels.elements import ports
from sim.network.tables import CLARKE, Ports

pytestmark = pytest.mark.usefixtures("plain_python")

X, I = np.array([7e3, 7.6e3, 8.2e3, 9e3]), np.array([0.0, 1.0, 100.0, 5000.0])


def interpolate(u):
    """The curve by NumPy, its last segment going on."""
    size = abs(u)
    beyond = I[-1] + (I[-1] - I[-2]) / (X[-1] - X[-2]) * (size - X[-1])
    return np.sign(u) * (beyond if size > X[-1] else np.interp(size, X, I))


def make_ports(weights, nodes, links=None, offset=0.0, curves=None):
    count = len(weights)
    x, i = curves or (X, I)
    return Ports(np.array(nodes), np.array(links or [-1] * count), np.array(weights, dtype=float),
                 np.full(count, offset), len(x) * np.arange(count + 1), np.tile(x, count), np.tile(i, count))


NO_LINKS = SimpleNamespace(l=np.zeros((2, 0)), r=np.zeros((2, 0)))


@pytest.mark.parametrize("u", [-2e4, -8.2e3, -7.3e3, 0.0, 6999.0, 7.2e3, 8e3, 8.9e3, 1.2e4])
def test_curve_is_odd_and_piecewise_linear(u):
    value, slope = ports.curve_value(make_ports([[1, 0, 0]], [0]), 0, u)
    assert value == pytest.approx(interpolate(u), rel=1e-12)
    if abs(u) not in X:
        rise = interpolate(u + 1e-3) - interpolate(u - 1e-3)
        assert slope == pytest.approx(rise / 2e-3, rel=1e-6, abs=1e-9)


@pytest.mark.parametrize("ohm", [0.1, 10.0, 1e4])
@pytest.mark.parametrize("volts", [6e3, 7.01e3, 1e4, -3e4])
def test_one_port_on_a_resistance(ohm, volts):
    """u = u_open - R i(u)."""
    coef = SimpleNamespace(zpp=np.array([[ohm]]), zpm=np.zeros((1, 0)), zmp=np.zeros((0, 1)), zmm=np.zeros((0, 0)),
                           link_y=np.zeros((2, 0)))
    found, opened = np.zeros(1), np.array([volts])
    assert ports.settle_ports(make_ports([[1, 0, 0]], [0]), NO_LINKS, coef, np.zeros(0, complex), opened,
                              opened.copy(), np.ones(1), found, ports.make_scratch(1, 0))
    exact = brentq(lambda u: u - volts + ohm * interpolate(u), -4e4, 4e4, xtol=1e-10, rtol=1e-14)
    assert found[0] == pytest.approx(interpolate(exact), rel=1e-7, abs=1e-9)


def make_junction(nodes=3, seed=4):
    """Admittances of a resistive network in Clarke coordinates, component-major. [S]"""
    rng = np.random.default_rng(seed)
    a = rng.normal(size=(3 * nodes, 3 * nodes))
    return (a @ a.T / nodes + np.eye(3 * nodes)) * 1e-3


def test_arresters_of_three_phases_beside_a_machine():
    """Kirchhoff at every node with the curves and the machine's Norton admittance, by SciPy's fsolve."""
    y, nodes, admittance = make_junction(), 3, 2e-3 - 1e-3j
    weights, at, machine = list(CLARKE.T) * 2, [0] * 3 + [2] * 3, 1
    table = make_ports(weights, at)
    into = np.random.default_rng(5).normal(size=3 * nodes) * 60.0
    z = np.linalg.inv(y)
    sees = np.zeros((6, 3 * nodes))
    for p in range(6):
        sees[p, np.arange(3) * nodes + at[p]] = weights[p]
    feels = np.zeros((2, 3 * nodes))
    feels[[0, 1], [machine, nodes + machine]] = 1.0
    turn = np.array([[admittance.real, -admittance.imag], [admittance.imag, admittance.real]])

    def kirchhoff(v):
        return y @ v + feels.T @ turn @ feels @ v + sees.T @ [interpolate(u) for u in sees @ v] - into

    opened = np.linalg.solve(y + feels.T @ turn @ feels, into)
    exact, _, done, _ = fsolve(kirchhoff, 0.5 * opened, full_output=True, xtol=1e-13)
    assert done == 1 and np.abs(sees @ opened).max() > 1.2 * X[0]
    coef = SimpleNamespace(zpp=sees @ z @ sees.T, zpm=sees @ z @ feels.T, zmp=feels @ z @ sees.T,
                           zmm=feels @ z @ feels.T, link_y=np.zeros((2, 0)))
    u, current, scratch = sees @ opened, np.zeros(6), ports.make_scratch(6, 1)
    assert ports.settle_ports(table, NO_LINKS, coef, np.array([admittance]), u, u.copy(), np.ones(6), current, scratch)
    assert current == pytest.approx([interpolate(each) for each in sees @ exact], rel=1e-6, abs=1e-6)
    # what is taken from the nodes gives the same voltages, the machine's answer included
    rhs = (into - feels.T @ turn @ feels @ opened).reshape(3, nodes)
    ports.inject_ports(table, NO_LINKS, coef.link_y, np.array([machine]), scratch, rhs, np.zeros((3, 0)))
    assert z @ rhs.ravel() == pytest.approx(exact, rel=1e-8, abs=1e-6)


def test_a_limb_beside_its_link_with_a_winding_resistance():
    """Stage of an inductance L with its winding resistance r and a limb that draws k (psi - knee) beyond the knee:
    L i/d + u_r = v + push, u_r = r (i + s), psi = offset + L i, and v = v_open - Z (i + s), by brentq."""
    inductance, r, d, knee, k, z, push, v_open, offset = 2.0, 40.0, 1e-4, 30.0, 2.5, 300.0, 4e5, 9e4, 5.0
    y = 1.0 / (inductance / d + r)
    links = SimpleNamespace(l=np.array([[inductance], [inductance]]), r=np.array([[r], [r]]))
    link_y = np.array([[y], [y]])
    table = make_ports([[1.0, 0.0, 0.0]], [0], [0], offset, (np.array([knee, knee + 1.0]), np.array([0.0, k])))

    def limb(psi):
        return k * max(psi - knee, 0.0)

    def gap(i):
        s = limb(offset + inductance * i)
        return inductance * i / d + r * (i + s) - (v_open - z * (i + s)) - push

    i = brentq(gap, -1e4, 1e4, xtol=1e-12)
    s = limb(offset + inductance * i)
    assert s > 1.0
    # open: the link alone, its admittance folded into the junction
    zz = z / (1.0 + z * y)
    x, j = np.zeros((3, 1)), np.zeros((3, 1))
    j[0, 0] = y * push
    x[0, 0] = zz * (v_open / z - j[0, 0])
    u, argument, gain, current = np.zeros(1), np.zeros(1), np.zeros(1), np.zeros(1)
    assert ports.open_arguments(table, links, link_y, j, x, u, argument, gain)
    coef = SimpleNamespace(zpp=np.array([[zz]]), zpm=np.zeros((1, 0)), zmp=np.zeros((0, 1)), zmm=np.zeros((0, 0)),
                           link_y=link_y)
    scratch = ports.make_scratch(1, 0)
    assert ports.settle_ports(table, links, coef, np.zeros(0, complex), u, argument, gain, current, scratch)
    assert current[0] == pytest.approx(s, rel=1e-9)
    rhs = np.zeros((3, 1))
    rhs[0, 0] = v_open / z - y * push
    ports.inject_ports(table, links, link_y, np.zeros(0, np.int64), scratch, rhs, j)
    v = zz * rhs[0, 0]
    assert v == pytest.approx(v_open - z * (i + s), rel=1e-9)
    assert j[0, 0] + y * v == pytest.approx(i, rel=1e-9)
    # with i + s in the winding instead of i alone: r ((i + s)^2 - i^2)
    x = np.zeros((3, 2))
    x[0] = v, i
    taken, layout = np.ones(1), SimpleNamespace(link=1)
    loss = ports.port_loss(layout, table, links, x, current, taken)
    assert loss == pytest.approx(r * ((i + s) ** 2 - i**2), rel=1e-9)
    assert taken[0] == 0.0


def test_largest_current_and_voltage_of_a_port_are_kept():
    table, peak = make_ports([[1.0, 0.0, 0.0]], [0]), np.zeros((1, 2))
    for volts, amps in ((5.0, 1.0), (-9.0, -0.5), (3.0, 2.0)):
        ports.follow_ports(table, np.array([[volts], [0.0], [0.0]]), np.array([amps]), peak)
    assert peak.tolist() == [[2.0, 9.0]]
