"""Fluxes of saturated paths: a coil behind a reactance in closed form, machines and cores together by a solver."""

import numpy as np
import pytest
from engines.circuits import build, grid, machine, reactor, transformer
from scipy.optimize import brentq

from sim.phasors.fluxes import find_fluxes
from sim.phasors.reduction import reduce_network
from sim.phasors.saturation import core_slope

VOLTS = np.array([5e3, 1.0e4, 1.3e4, 1.8e4])


def test_saturated_coil_behind_a_source():
    """One loop: the source's impedance, the winding's resistance, an inductance that falls with the flux.  The flux is
    the root of a = |V/w| |Z_coil/(Z_coil + R + Z_source)| by bisection."""
    _, network = build(grid(mva=30.0, x_over_r=8.0), reactor("bus", mvar=8.0, knee_pu=1.1, saturated_pct=30.0))
    t = network.tables
    found = reduce_network(network, 0, network.closed, np.array([50.0]), 1.0)
    flux, v, drawn = find_fluxes(found, np.zeros(len(VOLTS), dtype=int), VOLTS)
    (link,), (source,), w = t.cores.link, t.sources.link, 2.0 * np.pi * 50.0
    before = complex(t.links.r[0, source] + t.links.r[0, link], w * t.links.l[0, source])

    def miss(a, volts):
        more = core_slope(t.cores.excess, t.cores.knee, np.array([a]))[0][0]
        coil = 1j * w / (1.0 / t.links.l[0, link] + more)
        return a - abs(volts / w * coil / (coil + before))
    expected = [brentq(miss, 0.0, volts / w, args=(volts,), xtol=1e-12) for volts in VOLTS]
    assert flux[:, 0] == pytest.approx(expected, rel=1e-6)      # strays of 1 nF
    assert flux[-1, 0] > t.cores.knee[0, 0] > flux[0, 0]
    assert drawn[0, 0] == 0.0 and np.abs(v[:, 0]) == pytest.approx(w * flux[:, 0], rel=1e-9)


def test_rated_flux_is_that_of_the_island():
    """Rated voltage over rated angular frequency, 60 Hz here."""
    _, network = build(grid(frequency_hz=60.0), transformer("bus", "low", to_kv=3.0),
                       machine("low", kv=3.0, motor={"frequency_hz": 60.0}))
    paths = reduce_network(network, 0, network.closed, np.array([60.0]), 0.0).paths
    assert network.tables.islands.w == pytest.approx(2.0 * np.pi * 60.0, rel=1e-12)
    assert paths.names == ("booster", "unit.from", "unit.to")
    assert paths.rated == pytest.approx(np.array([3e3, 1e4, 3e3]) / (2.0 * np.pi * 60.0), rel=1e-12)
