"""The books of a run: peaks, how machines ended, what was lost."""

import numpy as np
import pytest
from energy_books import lost_share

from engines.circuits import CREST, breaker, event, grid, machine, make_case, shunt
from sim.engines.run.timeline import simulate


def test_peaks_of_a_steady_supply_are_its_crests():
    result = simulate(make_case(grid(mva=1e4), shunt("bus", resistance_ohm=100.0), duration=0.05), "waveform")
    peak = result.peaks["bus"]
    assert peak.phase_earth == pytest.approx(CREST * 1e4, rel=2e-3)
    assert peak.phase_phase == pytest.approx(np.sqrt(2.0) * 1e4, rel=2e-3)
    assert set(result.peaks) == {"bus"}


@pytest.mark.parametrize("closes, breakaway, found", [
    (False, 10.0, (True, False, False)), (True, 500.0, (True, False, True)), (True, 1.0, (False, True, True))])
def test_how_a_machine_ended(closes, breakaway, found):
    """Never energised; energised and held; turning."""
    case = make_case(grid(), breaker(closed=False), machine("head", load={"kind": "pump", "breakaway_pct": breakaway}),
                     *([event(0.02, "close")] if closes else []), duration=0.2)
    one = simulate(case, "waveform").machines["booster"]
    assert (one.locked, one.ever_moved, one.energised) == found
    assert (one.available_torque > 0.0) == closes and one.tripped_at is None


def test_losses_of_a_resistor_are_its_power_over_time():
    """V^2/R of the line-to-line voltage at the bus, and the supply's own resistance."""
    result = simulate(make_case(grid(mva=1e5), shunt("bus", resistance_ohm=100.0), duration=0.2), "envelope")
    volts = result.stretches[-1].signals["bus"]["voltage"][-1]
    assert result.energy.dissipated == pytest.approx(0.2 * volts**2 / 100.0, rel=1e-3)
    assert lost_share(result) < 1e-9
