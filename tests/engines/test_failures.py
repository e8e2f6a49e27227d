"""A run that cannot go on says which component is the cause, not the first one of a list."""

from dataclasses import replace

import numpy as np
import pytest

from engines.circuits import CREST, arrester, breaker, build, grid, shunt, steady_envelope
from sim.engines.handover import to_waveform
from sim.engines.waveform.engine import WaveformEngine
from sim.errors import SolveError
from sim.network.tables import CLARKE

STEP = 1e-5


def fail(network, state=None):
    """The error of a waveform run of some steps."""
    state = state or to_waveform(network, steady_envelope(network))
    with pytest.raises(SolveError) as caught:
        WaveformEngine(network, STEP).advance(state, 0.0, 100 * STEP)
    return caught.value


@pytest.mark.parametrize("lost", ["head", "far"])
def test_a_node_without_any_path_is_named(lost):
    """Behind an open breaker, its capacitor and its stray capacitance taken out of the tables."""
    _, network = build(grid(), breaker(closed=False), shunt("head", capacitance_uf=1.0),
                       breaker("bus", "far", "second", closed=False), shunt("far", name="other", capacitance_uf=1.0))
    state = to_waveform(network, steady_envelope(network))
    n = network.node_names.index(lost)
    network.tables.nodes.c[:, n] = network.tables.nodes.g[:, n] = 0.0
    error = fail(network, state)
    assert error.component == lost and "a path to earth" in str(error)


@pytest.mark.parametrize("strange", [0, 1])
def test_an_arrester_whose_curve_nothing_satisfies_is_named(strange):
    """Beyond its knee its current falls faster than the network can follow: what is missed has a least magnitude that
    no step of Newton's leaves.  The other arrester is a sound one, at a level that it never sees."""
    names = ("near", "beside")
    _, network = build(grid(), shunt("bus", resistance_ohm=100.0),
                       *(arrester("bus", rated_kv=36.0, name=name) for name in names))
    ports, crest = network.tables.ports, CREST * 1e4
    assert {name.partition(".")[0] for name in network.port_names} == set(names)
    curve = crest * np.array([0.6, 0.7, 0.7001, 0.99, 1.0]), np.array([0.0, 1.0, -300.0, -300.0, -600.0])
    slices = [curve if name.startswith(names[strange]) else
              (ports.x[ports.first[p]:ports.first[p + 1]], ports.i[ports.first[p]:ports.first[p + 1]])
              for p, name in enumerate(network.port_names)]
    first = np.cumsum([0, *(len(x) for x, _ in slices)])
    ports = ports._replace(first=first, x=np.concatenate([x for x, _ in slices]),
                           i=np.concatenate([i for _, i in slices]))
    error = fail(replace(network, tables=network.tables._replace(ports=ports)))
    assert error.component == names[strange] and "curves of cores and arresters" in str(error)


@pytest.mark.parametrize("worst", ["bus", "head", "tail"])
def test_the_node_that_leaves_the_number_range_is_named(worst):
    """Voltages whose square is no number: power cannot be told, and the node furthest out is the one."""
    _, network = build(grid(), breaker(), shunt("head", resistance_ohm=100.0), breaker("head", "tail", "second"),
                       shunt("tail", name="other", resistance_ohm=100.0))
    state = to_waveform(network, steady_envelope(network))
    state.x[:, network.node_names.index(worst)] += CLARKE @ [1e200, -1e200, 3e199]
    error = fail(network, state)
    assert error.component == worst and "left the number range" in str(error)
