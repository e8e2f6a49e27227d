"""Signals of a run: magnitudes are those of the phases, currents of a breaker meet at its nodes."""

import numpy as np
import pytest

from engines.circuits import breaker, cable, event, grid, machine, make_case, phases, shunt, transformer
from sim.engines.run.timeline import simulate
from sim.results.run import QUANTITIES


@pytest.fixture(scope="module")
def result():
    case = make_case(grid(), breaker(closed=False), cable(), transformer("tail", "low", to_kv=6.0),
                     machine("low", kv=6.0), shunt("tail", resistance_ohm=300.0), event(0.02, "close"), duration=0.1,
                     bandwidth_khz=1.0)
    return simulate(case, "waveform")


def test_every_signal_is_declared_with_its_unit(result):
    found = {quantity for signals in result.stretches[-1].signals.values() for quantity in signals}
    assert found <= set(QUANTITIES)
    assert {"voltage_a", "current_from", "flux_from_a", "torque"} <= found


@pytest.mark.parametrize("name, stem, scale", [("tail", "voltage", 1.0), ("gear", "current", 3.0),
                                               ("booster", "current", 3.0)])
def test_magnitude_is_that_of_the_phases(result, name, stem, scale):
    """|alpha + j beta|^2 = sum of squares less a third of the square of the sum (Clarke, power invariant); a current
    is told as RMS of a phase, 1/sqrt(3) of it."""
    _, v = phases(result, name, stem)
    size = np.sqrt((v**2).sum(axis=1) - v.sum(axis=1) ** 2 / 3.0)
    told = result.stretches[-1].signals[name][stem]
    assert told * np.sqrt(scale) == pytest.approx(size, rel=1e-9, abs=1e-6)


def test_the_neutral_is_displaced_by_a_third_of_the_sum(result):
    _, v = phases(result, "tail")
    told = result.stretches[-1].signals["tail"]["voltage_zero"]
    assert told == pytest.approx(v.sum(axis=1) / 3.0, abs=1e-9 * np.abs(v).max())


def test_the_cable_carries_what_the_breaker_does(result):
    """Kirchhoff at the near end, strays of a nanofarad beside: after the closing front both are one current."""
    signals, late = result.stretches[-1].signals, result.stretches[-1].t > 0.06
    apart = np.abs(signals["gear"]["current"] - signals["line"]["current_from"])
    assert apart[late].max() < 0.01 * signals["gear"]["current"][late].max()
