"""Nodal matrices: many frequencies at once, front ends, islands of two frequencies, sources of two angles."""

import numpy as np
import pytest
from engines.circuits import TURN, breaker, build, cable, drive, grid, grid_frames, shunt, transformer, write

from sim.phasors.nodal import (
    find_fed,
    inject,
    link_admittance,
    nodal_matrix,
    spread,
)
from sim.phasors.steady import steady_state

FEEDER = (grid(mva=100.0), transformer("bus", "head", to_kv=20.0), cable("head", km=40.0),
          shunt("tail", connection="series", resistance_ohm=50.0, inductance_mh=20.0, capacitance_uf=2.0))
TWO = (grid("host"), drive("out", frequency_hz=80.0), write("[drive.front_end]", node="host"), breaker("out", "head"),
       shunt("head", resistance_ohm=30.0))


@pytest.mark.parametrize("row", [0, 1])
def test_many_frequencies_are_one_after_the_other(row):
    _, network = build(*FEEDER, bandwidth_khz=1.0)
    s = np.array([2j * np.pi * 5.0, 2j * np.pi * 250.0, -20.0 + 2j * np.pi * 900.0])
    together = nodal_matrix(network, spread(network, s), network.closed, row)
    for at, y in zip(s, together):
        alone = nodal_matrix(network, spread(network, at), network.closed, row)
        assert np.abs(y - alone).max() < 1e-13 * np.abs(alone).max()
    pushed = inject(network, spread(network, s), np.array([1e4]))
    assert pushed[1] == pytest.approx(inject(network, spread(network, s[1]), np.array([1e4])), rel=1e-13)


def test_islands_have_their_own_rated_frequency():
    """A drive at 80 Hz behind a host at 50 Hz, whichever comes first in the tables."""
    _, network = build(*TWO)
    w = network.tables.islands.w
    for name, hz in (("host", 50.0), ("out", 80.0), ("head", 80.0)):
        island = network.tables.nodes.island[network.node_names.index(name)]
        assert w[island] == pytest.approx(2.0 * np.pi * hz, rel=1e-12)


def test_front_end_is_a_reactance_or_nothing():
    _, network = build(*TWO)
    s, at = 1j * network.tables.islands.w, network.node_names.index("host")
    shut, waiting = (nodal_matrix(network, s, network.closed, fronts=fronts) for fronts in (True, False))
    b = network.tables.drives.front[0]
    own = link_admittance(network.tables, b, s[network.tables.links.island[b]])
    assert own.imag < 0.0 and (shut - waiting)[at, at] == pytest.approx(own, rel=1e-12)
    assert np.count_nonzero(shut - waiting) == 1


def test_fed_is_what_closed_switches_join():
    _, network = build(*TWO)
    names = network.node_names
    row = network.source_names.index("inverter")
    closed = np.ones_like(network.closed)
    assert {names[n] for n in np.flatnonzero(find_fed(network, row, closed))} == {"inverter.bridge", "out", "head"}
    closed[network.switch_names.index("gear")] = False
    assert {names[n] for n in np.flatnonzero(find_fed(network, row, closed))} == {"inverter.bridge", "out"}


def test_two_grids_of_different_angles_share_a_load():
    """Millman's theorem (any text on circuits): V = (E1 Y1 + E2 Y2)/(Y1 + Y2 + Y), the second 10 degrees ahead; turned
    into the frame of the source that sets it.  Ideal bridge between their nodes: none."""
    _, network = build(grid(mva=100.0, name="west"), grid(mva=50.0, name="east", phase_deg=10.0),
                       shunt("bus", resistance_ohm=20.0))
    x = steady_state(network, network.closed, grid_frames(network))
    phase = network.tables.sources.phase
    emf = 1e4 * np.exp(1j * (phase - phase[network.tables.islands.source[0]]))
    y = [1.0 / complex(network.tables.links.r[0, b], TURN * network.tables.links.l[0, b])
         for b in network.tables.sources.link]
    assert np.ptp(phase) == pytest.approx(np.radians(10.0))
    assert x[0] == pytest.approx((emf @ y) / (sum(y) + 1.0 / 20.0), rel=1e-5)       # strays of 1 nF aside
