"""Direct-current offset of a switched inductive circuit, run as a case through the waveform engine."""

import numpy as np
import pytest
from cross.casefile import make_case
from reference import switching

from sim.engines.run.timeline import simulate

SOURCE = "S. S. Rao, Switchgear and Protection, example 3.2"
# 10 ohm, 0.1 H, 100 V, 50 Hz, closed at the zero of the voltage: offset 4.1 A at first, 1.50 A half a cycle later,
# 0.2035 A after one and a half.  Tolerance: half a unit of the last digit.  The example is single-phase; a
# star with earthed neutral on an earthed supply is three of them, and phase a closes at its zero.
PRINTED = {0.0: (4.1, 0.05), 0.5: (1.50, 0.005), 1.5: (0.2035, 0.00005)}
RESISTANCE, INDUCTANCE, VOLTS = 10.0, 0.1, 100.0
AT, STEP_US = 0.02, 0.5
# The pole closes by a front of 48 steps, 24 us: around the zero of the voltage the integral of the voltage missed
# or gained in it is V w t^2/2 < 1e-7 V s and shifts the current by less than 1e-5 of its peak.


@pytest.fixture(scope="module")
def closed():
    """Time from the closing [s] and current of phase a [A]."""
    grid = {"name": "supply", "node": "bus", "rated_kv": VOLTS * np.sqrt(3.0) / 1e3, "phase_deg": -90.0,
            "short_circuit_mva": 1e5}
    load = {"name": "load", "node": "far", "connection": "series", "resistance_ohm": RESISTANCE,
            "inductance_mh": 1e3 * INDUCTANCE}
    breaker = {"name": "pole_set", "from": "bus", "to": "far", "closed": False}
    tables = [("node", {"name": name, "stray_nf": 0.01}) for name in ("bus", "far")]
    case = make_case({"duration_s": AT + 0.04, "bandwidth_khz": 10.0, "waveform_step_us": STEP_US}, *tables,
                     ("grid", grid), ("breaker", breaker), ("shunt", load),
                     ("event", {"at_s": AT, "action": "close", "target": "pole_set"}))
    stretch = simulate(case, "waveform").stretches[-1]
    after = stretch.t > AT + 48e-6 * STEP_US
    return stretch.t[after] - AT, stretch.signals["pole_set"]["current_a"][after]


def test_whole_current(closed):
    """sqrt(2) V sin(w t) on R + L at rest, the closed form, to 1e-4 of the steady peak: second-order steps of
    w h = 1.6e-4 leave far less, the front 1e-5."""
    t, current = closed
    exact = switching.rl_energisation(t, np.sqrt(2.0) * VOLTS, RESISTANCE, INDUCTANCE, 50.0, 0.0)
    peak = np.sqrt(2.0) * VOLTS / np.hypot(RESISTANCE, 100.0 * np.pi * INDUCTANCE)
    assert np.abs(current - exact).max() < 1e-4 * peak


def test_offset(closed):
    """What is left of the current when the steady sine is taken off."""
    t, current = closed
    z = complex(RESISTANCE, 100.0 * np.pi * INDUCTANCE)
    steady = np.imag(np.sqrt(2.0) * VOLTS / z * np.exp(100j * np.pi * t))
    for cycles, (value, half_unit) in PRINTED.items():
        offset = np.interp(cycles / 50.0, t, current - steady)
        assert offset == pytest.approx(value, abs=half_unit)
