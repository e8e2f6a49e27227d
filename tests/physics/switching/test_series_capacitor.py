"""A capacitor in the way of the current: phasors of its circuit, and its voltage as a load is switched on.

Sources: Ohm's law in phasors; the transient of a series circuit of resistance, inductance and capacitance by SciPy's
DOP853 on its two differential equations per phase.
"""

import numpy as np
import pytest
from engines.circuits import CREST, TURN, breaker, build, event, grid, joined, make_case, shunt, steady_envelope, write
from scipy.integrate import solve_ivp

from sim.engines.run.timeline import simulate
from sim.measures import summarise

KV, MVA, X_OVER_R, OHM, LOAD_OHM, AT = 10.0, 100.0, 10.0, 0.6, 5.0, 0.0213
REACTANCE = KV**2 / MVA / np.hypot(1.0, 1.0 / X_OVER_R)
QUALITY = 100.0


def capacitor(**more):
    return write("[[series_capacitor]]", **{"name": "bank", "from_": "bus", "to": "end", "reactance_ohm": OHM,
                                            "quality": QUALITY, **more})


def circuit(closed=False, events="", **more):
    """Supply, capacitor, breaker, resistors in star."""
    return (grid(kv=KV, mva=MVA, x_over_r=X_OVER_R), capacitor(**more), breaker("end", "load", closed=closed),
            shunt("load", name="resistors", resistance_ohm=LOAD_OHM), events)


def test_load_voltage_of_the_steady_state_is_that_of_the_phasors():
    _, network = build(*circuit(closed=True))
    volts = steady_envelope(network).x[network.node_names.index("load")]
    series = complex(REACTANCE / X_OVER_R + OHM / QUALITY, REACTANCE - OHM)
    assert abs(volts) == pytest.approx(KV * 1e3 * abs(LOAD_OHM / (LOAD_OHM + series)), rel=1e-4)   # contact, strays
    assert abs(volts) > KV * 1e3 * abs(LOAD_OHM / (LOAD_OHM + series + 1j * OHM))       # it makes up for reactance


@pytest.fixture(scope="module")
def switched():
    return simulate(make_case(*circuit(events=event(AT, "close"), rated_a=200.0), duration=0.06,
                              waveform_step_us=0.25))       # a short front of the closing contact


def find_exact(t, phase):
    """Voltage across the capacitor of one phase after the load came on at AT, its losses included, shape (n,). [V]"""
    inductance, farads = REACTANCE / TURN, 1.0 / (TURN * OHM)
    resistance = REACTANCE / X_OVER_R + OHM / QUALITY + LOAD_OHM

    def slope(at, y):
        pushed = CREST * KV * 1e3 * np.cos(TURN * at - 2.0 * np.pi * phase / 3.0)
        return [(pushed - resistance * y[0] - y[1]) / inductance, y[0] / farads]
    amps, volts = solve_ivp(slope, (AT, t[-1]), [0.0, 0.0], "DOP853", t_eval=t, rtol=1e-9, atol=1e-6).y
    return volts + OHM / QUALITY * amps


@pytest.mark.parametrize("phase", (0, 1, 2))
def test_voltage_across_it_follows_the_differential_equations(switched, phase):
    t, volts = joined(switched, "bank", f"voltage_across_{'abc'[phase]}")
    after = t > AT + 2e-4
    exact = find_exact(t[after], phase)
    assert volts[after] == pytest.approx(exact, abs=2e-3 * np.abs(exact).max())


def test_largest_voltage_is_judged_against_its_protective_level(switched):
    largest = max(np.abs(find_exact(np.arange(AT, 0.06, 1e-5), phase)).max() for phase in range(3))
    row = next(row for row in summarise(switched)["criteria"] if row["id"] == "capacitor_voltage")
    assert row["value"] == pytest.approx(100.0 * largest / (2.3 * np.sqrt(2.0) * OHM * 200.0), rel=3e-3)
    assert row["level"] == "fail" and row["where"] == "bank"


def test_without_a_rated_current_it_is_not_assessed():
    result = simulate(make_case(*circuit(closed=True), duration=0.05))
    row = next(row for row in summarise(result)["criteria"] if row["id"] == "capacitor_voltage")
    assert row["level"] == "not assessed" and "rated_a" in row["reason"]


def test_energy_balance_holds(switched):
    assert switched.energy.residual_pct < 2e-3
