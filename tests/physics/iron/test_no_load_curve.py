"""A motor without load draws the current of its no-load curve, in both engines.

The curve holds points that the knees do not need, so that bends are left out on the way.
"""

import numpy as np
import pytest
from engines.circuits import grid, machine, make_case

from sim.engines.run.timeline import simulate

CURVE = {30: 12.0, 50: 20.0, 70: 28.3, 80: 33.0, 85: 35.6, 90: 38.5, 95: 42.0, 100: 46.0, 105: 51.2, 110: 58.0,
         115: 67.0, 120: 79.0}                                          # % of 10 kV: A, 2 MW, our own
MOTOR = {"no_load_voltage_pct": [float(share) for share in CURVE], "no_load_current_a": list(CURVE.values()),
         "winding_nf": 0.0}


@pytest.mark.parametrize("engine", ["waveform", "envelope"])
@pytest.mark.parametrize("share", [80, 100, 110])
def test_no_load_current_of_a_run(share, engine):
    """At the end of a start without load; the supply is stiff, 1000 GVA."""
    parts = [grid(mva=1e6, voltage_pu=0.01 * share),
             machine("bus", inertia=10.0, motor=MOTOR, magnetising_reactance_pu=None, rotor_resistance_pu=0.05)]
    result = simulate(make_case(*parts, duration=2.0, waveform_step_us=100.0, bandwidth_khz=1.0), engine)
    signals = result.stretches[-1].signals["booster"]
    assert signals["speed"][-1] == pytest.approx(50.0 * np.pi, rel=1e-4)
    assert signals["current"][-1] == pytest.approx(CURVE[share], rel=0.02)
    # the start has died away: RMS of a phase does not swing any more
    assert np.ptp(signals["current"][-20:]) < 5e-3 * CURVE[share]
