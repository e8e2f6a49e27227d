"""Coefficients of a stage: its junction is the network at the complex frequency 1/d + j w, by the exact two-port."""

import numpy as np
import pytest
from engines.circuits import build, cable, grid, shunt
from reference import laplace

from sim.engines.envelope.engine import EnvelopeEngine
from sim.engines.handover import dead_state
from sim.kernels.envelope import linear as kernels

pytestmark = pytest.mark.usefixtures("plain_python")


def feeder():
    return build(grid(), cable("bus"), shunt("tail", connection="series", resistance_ohm=laplace.OHM,
                                             inductance_mh=1e3 * laplace.HENRY, capacitance_uf=1e6 * laplace.FARAD))[1]


def set_up(network, d, w):
    engine, t = EnvelopeEngine(network, 1e-4, 1e-3), network.tables
    linear = engine.linear
    linear.w[:] = w
    kernels.set_coefficients(t.nodes, t.links, t.cables, t.switches, np.zeros(0, np.int64), d, linear)
    return linear


def strays(network):
    """Capacitance of both nodes beyond that of the cable's ends. [F]"""
    t = network.tables
    own = t.nodes.c[0].copy()
    own[t.cables.start[0]] -= t.cables.end_c[0, 0]
    own[t.cables.end[0]] -= t.cables.end_c[0, 0]
    return own


@pytest.mark.parametrize("w", [0.0, 314.0, -1000.0])
@pytest.mark.parametrize("d", [1e-1, 1e-3, 1e-4])
def test_junction_is_the_network_at_a_complex_frequency(d, w):
    """The cable's oscillators are exact up to the study's bandwidth of 5 kHz; 1/d is 10 to 10 000 1/s."""
    network = feeder()
    linear, t = set_up(network, d, w), network.tables
    b = t.sources.link[0]
    expected = laplace.junction(1.0 / d + 1j * w, t.links.r[0, b], t.links.l[0, b], strays(network))
    order = [t.cables.start[0], t.cables.end[0]]
    assert np.linalg.inv(linear.z[np.ix_(order, order)]) == pytest.approx(expected, rel=1e-4)


def test_history_of_nothing_is_nothing_and_of_a_charge_is_its_capacitance_over_d():
    network, d = feeder(), 1e-3
    linear, t = set_up(network, d, 314.0), network.tables
    e, rhs, history = np.zeros(t.layout.columns, complex), np.ones(2, complex), np.ones(t.cables.w.shape[1], complex)
    kernels.linear_history(t.layout, t.nodes.c, t.links, t.cables, d, linear, e, rhs, history)
    assert not rhs.any() and not history.any()
    e[:2] = 100.0, 50.0j
    kernels.linear_history(t.layout, t.nodes.c, t.links, t.cables, d, linear, e, rhs, history)
    assert rhs == pytest.approx(t.nodes.c[0] / d * e[:2])


def test_an_inductance_drives_its_current_on():
    """A link with a current i and no voltage acts as a source of L i/d behind its admittance."""
    network, d = feeder(), 1e-3
    linear, t = set_up(network, d, 0.0), network.tables
    b = t.sources.link[0]
    e, rhs = np.zeros(len(dead_state(network).x), complex), np.zeros(2, complex)
    e[t.layout.link + b] = 10.0
    history = np.zeros(t.cables.w.shape[1], complex)
    kernels.linear_history(t.layout, t.nodes.c, t.links, t.cables, d, linear, e, rhs, history)
    kept = t.links.l[0, b] / (t.links.l[0, b] + d * t.links.r[0, b])
    weights = {t.links.start[b]: t.links.wf[b], t.links.end[b]: t.links.wt[b]}
    for n in range(2):
        assert rhs[n] == pytest.approx(-np.conj(weights.get(n, 0.0)) * kept * 10.0)
