"""Common-mode voltage of a drive with pulses and an earthed output: the zero sequence carries power, and the books
must hold it."""

import numpy as np
import pytest
from energy_books import lost_share
from engines.circuits import cable, drive, make_case, phases, shunt, write

from sim.engines.run.timeline import simulate

KV, OHM, DIRECT, DURATION = 3.3, 20.0, 6e3, 0.06


def pulsed(*parts, reactance_pct=0.01, earthed=True):
    text = drive("out", kv=KV, kva=3000.0, start_hz=50.0, hold_s=0.0, voltage_rise_s=0.0, current_limit_pct=400.0,
                 output_reactance_pct=reactance_pct, output_resistance_pct=0.01, earthed=earthed)
    text += write("[drive.pulses]", bridge="two_level", carrier_hz=1050.0, third_harmonic_pct=0.0)
    text += write("[drive.dc_link]", rated_kv=1e-3 * DIRECT)
    return make_case(text, *parts, duration=DURATION, bandwidth_khz=10.0, waveform_step_us=2.0)


def test_two_levels_put_the_whole_direct_voltage_on_an_earthed_resistor():
    """Each leg stands at plus or minus half the direct voltage at any moment: a resistor from each phase to earth takes
    3 (Vdc/2)^2 / R, whatever the pattern.

    A step that holds an edge shows its mean, whose square is less than the mean of the square: by 2/3 on average, over
    2100 edges a second of 2 us each, 0.3 %.  The leads, 0.06 us with the load, take no part in that.
    """
    result = simulate(pulsed(shunt("out", resistance_ohm=OHM, earthed=True)), "waveform")
    power = result.energy.dissipated / DURATION
    assert power == pytest.approx(3.0 * (0.5 * DIRECT) ** 2 / OHM, rel=6e-3)
    assert lost_share(result) < 5e-4            # leads that settle within a step; measured 1.4e-4


@pytest.mark.parametrize("earthed", [True, False])
@pytest.mark.parametrize("parts, ceiling", [
    ((shunt("out", resistance_ohm=OHM, earthed=True),), 1.2e-4),
    ((cable("out", "tail", km=2.0), shunt("tail", resistance_ohm=OHM, earthed=True)), 8e-5)], ids=["resistor", "cable"])
def test_books_close_with_a_common_mode(parts, ceiling, earthed):
    """Leads of 30 us, 15 steps: measured 3.7e-5 and 2.5e-5.

    Earthed, the common mode reaches the resistor; unearthed, the neutral floats.
    """
    result = simulate(pulsed(*parts, reactance_pct=5.0, earthed=earthed), "waveform")
    _, v = phases(result, "tail" if len(parts) > 1 else "out")
    assert (np.abs(v.sum(axis=1)).max() / 3.0 > 0.3 * DIRECT) == earthed
    assert lost_share(result) < ceiling
