"""Recovery voltage of a breaker that clears a terminal fault, run as a case through the waveform engine."""

import numpy as np
import pytest
from cross.casefile import make_case
from reference import switching

from sim.engines.run.timeline import simulate

SOURCE = "V. K. Mehta, Principles of Power System, example 19.2; S. S. Rao, Switchgear and Protection, example 3.4"
# 11 kV, 50 Hz, X = 5 ohm, 0.01 uF: 17.96 kV peak across the breaker, 12.62 kHz; losses and the fall of the power-
# frequency wave over half a period of the oscillation neglected (both are part of the run: see below).
PEAK, NATURAL = 17.96e3, 12.62e3
INDUCTANCE, CAPACITANCE = 5.0 / (100.0 * np.pi), 1e-8
AT, STEP = 0.010, 0.2e-6


@pytest.fixture(scope="module")
def cleared():
    """A three-phase earthed fault behind the breaker; the capacitance is the stray one at the source's side."""
    grid = {"name": "supply", "node": "bus", "rated_kv": 11.0, "short_circuit_mva": 121.0 / np.hypot(5.0, 0.01),
            "x_over_r": 500.0}
    breaker = {"name": "pole_set", "from": "bus", "to": "fault", "closed": True}
    fault = {"name": "earth", "node": "fault", "resistance_ohm": 1e-4}
    case = make_case({"duration_s": 0.03, "bandwidth_khz": 100.0, "waveform_step_us": 1e6 * STEP},
                     ("node", {"name": "bus", "stray_nf": 1e9 * CAPACITANCE}), ("grid", grid), ("breaker", breaker),
                     ("shunt", fault), ("event", {"at_s": AT, "action": "open", "target": "pole_set"}))
    return simulate(case, "waveform")


def recovery(result, phase):
    """Time from the current zero [s] and voltage across the pole [V] over the first natural period."""
    opened = next(mark.t for mark in result.events if mark.what == "pole_open" and f"pole {phase}" in mark.label)
    stretch = result.stretches[-1]
    t = stretch.t - opened
    window = (t >= 0.0) & (t <= 1.0 / NATURAL)
    across = stretch.signals["bus"][f"voltage_{phase}"] - stretch.signals["fault"][f"voltage_{phase}"]
    return opened, t[window], across[window]


@pytest.mark.parametrize("phase", "abc")
def test_recovery_voltage(phase, cleared):
    """X/R = 500 at 50 Hz damps the first swing by exp(-R t/2L), 1e-4; the source falls by (w t)^2/2, 8e-5."""
    opened, t, across = recovery(cleared, phase)
    sign = np.sign(across[np.abs(across).argmax()])
    assert opened >= AT
    assert np.abs(across).max() == pytest.approx(PEAK, rel=1e-3)
    top = np.abs(across).argmax()
    near = slice(top - 10, top + 11)                    # a parabola through the top: its place to far below a sample
    bend, tilt, _ = np.polyfit(t[near], across[near], 2)
    half = -0.5 * tilt / bend
    assert 0.5 / half == pytest.approx(NATURAL, rel=2e-3)
    exact = switching.recovery_voltage(t, sign * np.sqrt(2.0 / 3.0) * 11e3, INDUCTANCE, CAPACITANCE, 50.0)
    # the zero is found to 1e-4 of a step's change of current, the resistance costs 2e-4 over the period, and
    # the resistance (1/500) turns the current's zero from the source's crest by 0.11 degrees
    assert np.abs(across - exact).max() < 2e-3 * PEAK
