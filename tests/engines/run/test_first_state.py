"""The first state of a run: steady grids, machines at standstill on live ones, charge left on cables."""

import numpy as np
import pytest

from engines.circuits import CREST, breaker, cable, grid, machine, make_case, phases, shunt
from sim.engines.run.timeline import simulate

W = 100.0 * np.pi


def test_a_grid_is_in_steady_state_from_the_start():
    """Divider of the supply's impedance and an R-L load, by phasors; nothing moves from there."""
    case = make_case(grid(mva=100.0), shunt("bus", connection="series", resistance_ohm=8.0, inductance_mh=20.0),
                     duration=0.05, bandwidth_khz=1.0)
    z = 100.0 / 100.0 * (1.0 + 10j) / np.hypot(1.0, 10.0)
    load = 8.0 + 1j * W * 20e-3
    for engine in ("envelope", "waveform"):
        stretch = simulate(case, engine).stretches[-1]
        volts = stretch.signals["bus"]["voltage"]
        assert volts[0] == pytest.approx(1e4 * abs(load / (load + z)), rel=1e-4)
        assert np.ptp(volts) < 1e-4 * volts[0]


def test_a_machine_at_standstill_on_a_live_grid_is_warned_of_and_switched_on():
    result = simulate(make_case(grid(), machine("bus"), duration=0.05))
    assert any("booster at standstill on a live grid" in text for text in result.warnings)
    assert result.stretches[0].engine == "waveform"
    stretch = result.stretches[0]
    assert stretch.signals["booster"]["current"][0] < 0.05 * stretch.signals["booster"]["current"].max()


def test_a_charged_cable_stands_at_its_charge():
    """Per unit of the crest of nominal phase voltage, at both ends."""
    shares = [0.6, -1.0, 0.3]
    case = make_case(grid(), breaker(closed=False), cable(trapped_pu=shares), duration=2e-3)
    result = simulate(case)
    for end in ("head", "tail"):
        _, v = phases(result, end)
        assert v[0] / (CREST * 1e4) == pytest.approx(shares, abs=1e-6)
