"""Elements of a waveform stage against their implicit equations solved by NumPy."""

from types import SimpleNamespace

import numpy as np
import pytest

from sim.kernels.waveform import stage
from sim.network.layout import make_layout

pytestmark = pytest.mark.usefixtures("plain_python")

D = 2e-4


def test_oscillators_of_a_cable_solve_their_implicit_equations():
    """p' = -a p - w q - gf vf - gt vt,   q' = w p - b q, each oscillator by itself; they lose a p^2 + b q^2."""
    rng = np.random.default_rng(6)
    size = 5
    w, a, b, gf, gt, e_p, e_q = rng.uniform(0.5, 3e4, size), *rng.uniform(1.0, 500.0, (2, size)), *rng.normal(
        size=(4, size))
    vf, vt = 300.0, -120.0
    cq = 1.0 / (1.0 + D * b)
    kp = 1.0 / (1.0 + D * a + (D * w) ** 2 * cq)
    history, p, q = np.zeros(size), np.zeros(size), e_q.copy()
    into = stage.oscillator_history(kp, kp * D * w * cq, gf, gt, e_p, e_q, history)
    assert into == pytest.approx((gf @ history, gt @ history))
    loss = stage.oscillator_update(kp * D * gf, kp * D * gt, cq, w, a, b, D, vf, vt, history, e_q, p, q)
    for m in range(size):
        system = np.array([[1.0 + D * a[m], D * w[m]], [-D * w[m], 1.0 + D * b[m]]])
        exact = np.linalg.solve(system, [e_p[m] - D * (gf[m] * vf + gt[m] * vt), e_q[m]])
        assert (p[m], q[m]) == pytest.approx(tuple(exact), rel=1e-10)
    assert loss == pytest.approx(a @ p**2 + b @ q**2)


def test_foster_branches_follow_their_oscillators():
    """y' = -alpha y + beta p: a resistance beside an inductance; its loss is that of the resistance alone."""
    rng = np.random.default_rng(7)
    alpha, beta, p, e_y = rng.uniform(10.0, 1e4, 2), rng.uniform(1.0, 50.0, 2), rng.normal(size=3), rng.normal(size=6)
    yc = 1.0 / (1.0 + D * alpha)
    y = np.zeros(6)
    loss = stage.branch_update(yc, D * beta * yc, alpha, beta, e_y, p, y)
    for k in range(2):
        exact = (e_y[3 * k:3 * k + 3] + D * beta[k] * p) / (1.0 + D * alpha[k])
        assert y[3 * k:3 * k + 3] == pytest.approx(exact)
    expected = sum(((beta[k] * p - alpha[k] * y[3 * k:3 * k + 3]) ** 2 / alpha[k]).sum() for k in range(2))
    assert loss == pytest.approx(expected)


def make_links(**more):
    one = {"start": np.array([-1]), "end": np.array([0]), "r": np.array([[2.0], [6.0]]),
           "l": np.array([[0.03], [0.09]]), "s": np.array([[1e4], [0.0]]), "wf": np.array([0j]),
           "wt": np.array([-np.exp(0.4j)]), "zf": np.array([0.0]), "zt": np.array([-1.0])}
    return SimpleNamespace(**one | more)


def test_a_link_solves_its_implicit_equation_and_its_powers_add_up():
    """L (i - i_e)/d + R i + u = push + dv and u = u_e + d S i, in both sequences; the zero sequence has a push of its
    own, and its power counts."""
    links, layout, x = make_links(), make_layout(1, 1, 0, 0, 0, 0, 0), np.zeros((3, 3))
    link_y = D / (links.l + D * links.r + D * D * links.s)
    e = np.random.default_rng(8).normal(size=(3, 3)) * 100.0
    x[:, 0] = 500.0, -300.0, 70.0
    push, push_zero, rhs, j = np.array([900.0 + 200.0j]), np.array([-150.0]), np.zeros((3, 1)), np.zeros((3, 1))
    stage.link_history(layout, links, link_y, D, push, push_zero, e, rhs, j)
    delivered, loss = stage.link_update(layout, links, link_y, D, push, push_zero, e, j, x)
    drop = links.wt[0] * complex(x[0, 0], x[1, 0])
    pushes, drops = (push[0].real, push[0].imag, push_zero[0]), (drop.real, drop.imag, -x[2, 0])
    for c, row in ((0, 0), (1, 0), (2, 1)):
        i, u = x[c, 1], x[c, 2]
        assert u == pytest.approx(e[c, 2] + D * links.s[row, 0] * i)
        across = links.l[row, 0] * (i - e[c, 1]) / D + links.r[row, 0] * i + u
        assert across == pytest.approx(pushes[c] + drops[c], rel=1e-9)
    assert delivered == pytest.approx(np.dot(pushes, x[:, 1]))
    assert loss == pytest.approx(2.0 * (x[0, 1] ** 2 + x[1, 1] ** 2) + 6.0 * x[2, 1] ** 2)
    # what the junction feels is the current at no voltage, turned by the weight
    into = np.conj(links.wt[0]) * complex(j[0, 0], j[1, 0])
    assert rhs[:, 0] == pytest.approx([-into.real, -into.imag, j[2, 0]])


def test_machines_close_on_the_junction():
    """v = z (rhs - i_h - y v) at two machines, alpha and beta coupled, by numpy.linalg.solve."""
    rng, n, at = np.random.default_rng(9), 3, np.array([0, 2])
    z = rng.normal(size=(9, 9)) * 50.0
    rhs, norton = rng.normal(size=(3, n)), np.zeros((2, 8), complex)
    norton[:, 6:] = rng.normal(size=(2, 2)) + 1j * rng.normal(size=(2, 2))
    feels, y, i_h = np.zeros((4, 9)), np.zeros((4, 4)), np.zeros(4)
    for m in range(2):
        feels[2 * m, at[m]] = feels[2 * m + 1, n + at[m]] = 1.0
        i, g = norton[m, 6:]
        y[2 * m:2 * m + 2, 2 * m:2 * m + 2] = [[g.real, -g.imag], [g.imag, g.real]]
        i_h[2 * m:2 * m + 2] = i.real, i.imag
    expected = np.linalg.solve(np.eye(9) + z @ feels.T @ y @ feels, z @ (rhs.ravel() - feels.T @ i_h))
    stage.close_ports(at, z, norton, rhs, np.zeros((4, 4)), np.zeros(4))
    x = np.zeros((3, n))
    stage.multiply(z, rhs, x)
    assert x.ravel() == pytest.approx(expected, rel=1e-9)


def test_loss_in_conductances_to_earth():
    g, x = np.array([[1e-3, 0.0], [4e-3, 0.0]]), np.array([[10.0, 5.0], [20.0, 5.0], [30.0, 5.0]])
    assert stage.node_loss(g, x) == pytest.approx(1e-3 * 500.0 + 4e-3 * 900.0)
