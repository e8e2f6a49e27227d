"""Coefficients of the waveform engine: the junction at a complex frequency, poles by Kirchhoff, what is kept."""

import numpy as np
import pytest
from reference import laplace

from engines.circuits import breaker, build, cable, fault, grid, machine, shunt
from sim.engines.methods import METHODS
from sim.engines.waveform.coefficients import CoefficientCache, add_poles, invert_junction, port_matrices, stage_parts
from sim.errors import SolveError
from sim.network.tables import CLARKE


@pytest.mark.parametrize("d", [1e-1, 1e-3, 1e-4])
def test_junction_is_the_network_at_a_real_frequency(d):
    """s = 1/d, alpha and beta alike and without a path between them."""
    _, network = build(grid(), cable("bus"), shunt("tail", connection="series", resistance_ohm=laplace.OHM,
                                                   inductance_mh=1e3 * laplace.HENRY,
                                                   capacitance_uf=1e6 * laplace.FARAD))
    t = network.tables
    y, b, own = stage_parts(t, d)["junction"], t.sources.link[0], t.nodes.c[0].copy()
    own[t.cables.start[0]] -= t.cables.end_c[0, 0]
    own[t.cables.end[0]] -= t.cables.end_c[0, 0]
    order = np.array([t.cables.start[0], t.cables.end[0]])
    expected = laplace.junction(1.0 / d, t.links.r[0, b], t.links.l[0, b], own)
    assert np.abs(expected.imag).max() < 1e-9 * np.abs(expected).max()
    for c in range(2):
        assert y[np.ix_(order + 2 * c, order + 2 * c)] == pytest.approx(expected.real, rel=1e-4)
    assert not y[:2, 2:].any() and not y[2:4, 4:].any()


def phase_matrix(network, pole_g):
    """Junction of the poles alone, in phase quantities, shape (N, 3, N, 3)."""
    n = len(network.node_names)
    y = np.zeros((3 * n, 3 * n))
    add_poles(y, network.tables, pole_g)
    return np.einsum("cp,cndm,dq->npmq", CLARKE, y.reshape(3, n, 3, n), CLARKE)


def test_poles_join_their_nodes_phase_by_phase():
    """Kirchhoff: g (v_start - v_end) flows out of the one node and into the other, in its own phase."""
    _, network = build(grid(), breaker("bus", "head"), shunt("head", resistance_ohm=10.0))
    g = np.array([[3.0, 0.0, 5.0]])
    y, t = phase_matrix(network, g), network.tables
    v = np.random.default_rng(3).normal(size=(len(network.node_names), 3))
    into, across = np.einsum("npmq,mq->np", y, v), v[t.switches.start[0]] - v[t.switches.end[0]]
    assert into[t.switches.start[0]] == pytest.approx(g[0] * across)
    assert into[t.switches.end[0]] == pytest.approx(-g[0] * across)


@pytest.mark.parametrize("earth", [True, False])
def test_poles_of_a_fault_meet_in_a_star_point(earth):
    """The star point is solved for by hand: sum of g (v - v_star) = its current to earth."""
    _, network = build(grid(), fault(0.01, "abc", earth=earth, **({"earth_resistance_ohm": 0.25} if earth else {})))
    g = np.array([[3.0, 1.0, 5.0]])
    t = network.tables
    v = np.array([100.0, -40.0, 7.0])
    star = t.switches.star[0]
    assert star == pytest.approx(4.0 if earth else 0.0)
    point = g[0] @ v / (g.sum() + star)
    y = phase_matrix(network, g)
    n = t.switches.start[0]
    assert y[n, :, n, :] @ v == pytest.approx(g[0] * (v - point))
    assert (y[n, :, n, :] @ v).sum() == pytest.approx(star * point, abs=1e-9)


def test_port_matrices_are_transfer_resistances():
    """A current into a machine's alpha axis shows at every machine as z says."""
    _, network = build(grid(), machine("bus"), cable("bus", "end"), machine("end", name="second"))
    t, n = network.tables, len(network.node_names)
    y = stage_parts(t, 1e-4)["junction"]
    z = invert_junction(y.copy(), network.node_names)
    *_, zmm = port_matrices(t, z)
    for m, c in ((0, 0), (1, 1)):
        into = np.zeros(3 * n)
        into[c * n + t.machines.node[m]] = 1.0
        v = np.linalg.solve(y, into).reshape(3, n)
        assert zmm[:, 2 * m + c] == pytest.approx(v[:2, t.machines.node].T.ravel(), rel=1e-9, abs=1e-12)


def test_a_position_of_the_poles_is_inverted_once():
    _, network = build(grid(), breaker("bus", "head"), shunt("head", resistance_ohm=10.0))
    cache, closed = CoefficientCache(network, METHODS["alexander2"]), np.full((1, 3), 1e4)
    first = cache.get(1e-5, closed)
    assert cache.get(1e-5, closed.copy()) is first and cache.factorisations == 1
    cache.get(1e-5, 0.0 * closed)
    cache.get(2e-5, closed)
    assert cache.factorisations == 3
    assert first.d == pytest.approx((1.0 - np.sqrt(0.5)) * 1e-5)
    assert first.z @ np.linalg.inv(first.z) == pytest.approx(np.eye(len(first.z)), abs=1e-6)


def test_only_so_many_are_kept():
    _, network = build(grid(), breaker("bus", "head"), shunt("head", resistance_ohm=10.0))
    cache = CoefficientCache(network, METHODS["alexander2"], most=4)
    for k in range(12):
        cache.get(1e-5, np.full((1, 3), 1.0 + k))
    assert len(cache.full) <= 5


@pytest.mark.parametrize("lost", [0, 1])
def test_a_node_without_any_path_is_an_error_in_words(lost):
    """The node that moves most without a current, whichever it is."""
    y, names = np.eye(6), ("bus", "head")
    y[lost::2] = 0.0
    with pytest.raises(SolveError, match="stray capacitance or a path to earth") as caught:
        invert_junction(y, names)
    assert caught.value.component == names[lost]
