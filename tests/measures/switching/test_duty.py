"""Arrester duty and fault currents, against ratings and the closed form of a fault behind R and L."""

from types import SimpleNamespace

import numpy as np
import pytest
from reference import switching
from scipy.integrate import trapezoid

from sim.measures.switching.duty import measure_arrester, measure_fault, measure_rms
from sim.results.run import ArresterDuty, Event, RunResult

from ..synthetic import make_case, make_run, make_stretch

T = np.linspace(0.0, 0.5, 50001)
AT, RESISTANCE, INDUCTANCE, PEAK = 0.1, 1.0, 0.05, 10e3
W = 2.0 * np.pi * 50.0


def fifty(t):
    return 50.0


FAULT = SimpleNamespace(name="dig_in", node="host")


def make_fault_run(angle=0.0, until=np.inf, clear=None):
    """A fault that strikes at AT and is told to go out at `clear`; its current is gone from `until` on. [s]"""
    on = (T >= AT) & (T < until)
    phases = {f"current_{phase}": np.where(on, switching.rl_energisation(
        np.maximum(T - AT, 0.0), PEAK, RESISTANCE, INDUCTANCE, 50.0, angle - 2.0 * np.pi * k / 3.0), 0.0)
        for k, phase in enumerate("abc")}
    orders = [Event(at, what, "dig_in", "") for at, what in ((AT, "fault"), (clear, "fault_cleared")) if at is not None]
    return make_run(make_case(), make_stretch(T, {"dig_in": phases}, "waveform"), events=orders), phases


def test_peak_and_last_cycle_of_a_fault():
    """After 8 time constants the offset is 3e-4: what is left is the crest of the steady current over sqrt(2)."""
    run, phases = make_fault_run()
    found = measure_fault(run, FAULT, fifty)
    steady = PEAK / np.hypot(RESISTANCE, W * INDUCTANCE) / np.sqrt(2.0)
    assert found["peak_current_a"] == pytest.approx(max(np.abs(i).max() for i in phases.values()), rel=1e-12)
    assert found["peak_current_a"] > 1.7 * np.sqrt(2.0) * steady
    assert found["rms_current_a"] == pytest.approx(steady, rel=1e-3)


def test_last_cycle_before_clearing_holds_the_offset():
    """RMS over the cycle that ends with the clearing, by quadrature of the closed form on a grid of its own."""
    run, _ = make_fault_run(clear=0.14)
    fine = np.linspace(0.02, 0.04, 20001)
    squares = [trapezoid(switching.rl_energisation(fine, PEAK, RESISTANCE, INDUCTANCE, 50.0,
                                                      -2.0 * np.pi * k / 3.0)**2, fine) / 0.02 for k in range(3)]
    found = measure_fault(run, FAULT, fifty)
    # trapezium rule on the square at 2000 samples a cycle
    assert found["rms_current_a"] == pytest.approx(np.sqrt(max(squares)), rel=1e-5)


def test_a_breaker_that_clears_ends_the_last_cycle():
    run, whole = make_fault_run(until=0.2)[0], make_fault_run(clear=T[19999])[0]
    found, expected = measure_fault(run, FAULT, fifty), measure_fault(whole, FAULT, fifty)
    assert found["rms_current_a"] == pytest.approx(expected["rms_current_a"], rel=1e-6)


def test_a_fault_shorter_than_a_cycle_has_no_last_cycle():
    found = measure_fault(make_fault_run(clear=0.11)[0], FAULT, fifty)
    assert found["rms_current_a"] is None and found["peak_current_a"] > 0.0


def test_clearing_is_read_from_the_log_not_from_the_case():
    """The case asks for a clearing that the run never came to: the current of the last cycle is that of its end."""
    asked = SimpleNamespace(name="dig_in", node="host", at_s=0.45, clear_s=0.14)
    run, _ = make_fault_run()
    assert measure_fault(run, asked, fifty) == measure_fault(run, FAULT, fifty)
    assert measure_fault(run, asked, fifty)["rms_current_a"] is not None


def test_a_fault_without_currents_is_not_known():
    assert measure_fault(make_run(make_case(), make_stretch(T, {})), FAULT, fifty) == {
        "peak_current_a": None, "rms_current_a": None}


def test_rms_of_a_sine_over_any_cycle():
    y = 3.0 * np.sin(W * T + 0.4)
    assert measure_rms(T, y, 0.12345, 0.14345) == pytest.approx(3.0 / np.sqrt(2.0), rel=1e-5)


def test_the_most_loaded_phase_of_an_arrester_counts():
    run = RunResult(case=None, arresters={"guard": ArresterDuty((12e3, 30e3, 5e3), 800.0, 71e3)})
    found = measure_arrester(run, SimpleNamespace(name="guard", energy_j=120e3))
    assert found == {"energy_kj": 30.0, "energy_pct": 25.0, "peak_current_a": 800.0, "peak_voltage_kv": 71.0}
    assert measure_arrester(run, SimpleNamespace(name="guard", energy_j=None))["energy_pct"] is None
    assert set(measure_arrester(run, SimpleNamespace(name="other", energy_j=1.0)).values()) == {None}
