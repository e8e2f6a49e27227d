"""Urms(1/2) against closed forms of sines.

Definition: IEC 61000-4-30, one-cycle RMS refreshed each half cycle (from memory, to be checked).  The RMS of
a sine over one whole cycle is its crest over sqrt(2), whatever the moment the cycle starts: algebra.
"""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sim.measures.signals.axis import cut_cycles, cut_evenly, cycle_mean
from sim.measures.signals.rms import measure_urms

from ..synthetic import BASE, make_case, make_phases, make_run, make_stretch

TRAPEZIUM = 2e-4   # (2 pi / 200)^2 / 12 = 8e-5 of a cut sample interval, at 200 samples a cycle


def read_urms(*stretches):
    run = make_run(make_case(machines=[]), *stretches)
    t = np.concatenate([s.t for s in stretches])
    axis = cut_cycles(t, np.concatenate([s.signals["host_drive"]["frequency"] for s in stretches]))
    return axis, measure_urms(run, "host", axis)


def make_waveform(t, rms, frequency=50.0, **more):
    return make_stretch(t, {"host": make_phases(t, rms, **more)}, "waveform", frequency)


def test_sine_gives_crest_over_root_two_at_any_angle():
    t = np.linspace(0.0, 0.2, 2001)
    for angle in (0.0, 0.3, 1.1):
        _, urms = read_urms(make_waveform(t, BASE, angle=angle))
        assert len(urms.lowest) == 2 * 10 - 1
        np.testing.assert_allclose(urms.lowest, BASE, rtol=TRAPEZIUM)
        np.testing.assert_allclose(urms.highest, BASE, rtol=TRAPEZIUM)


def test_values_are_refreshed_each_half_cycle():
    axis, _ = read_urms(make_waveform(np.linspace(0.0, 0.2, 2001), BASE))
    np.testing.assert_allclose(np.diff(axis.ends), 0.01, rtol=1e-9)   # exact arithmetic
    np.testing.assert_allclose(axis.ends - axis.starts, 0.02, rtol=1e-9)


def test_step_on_a_half_cycle_mixes_the_squares_by_halves():
    """Half a cycle of a sine squared has the same mean as a whole one: sqrt((1 + 0.5^2) / 2)."""
    t = np.linspace(0.0, 0.2, 4001)
    volts = np.where(t < 0.1 - 1e-9, BASE, 0.5 * BASE)
    axis, urms = read_urms(make_waveform(t, volts))
    at = np.searchsorted(axis.ends, 0.11 - 1e-6)
    assert urms.lowest[at - 1] == pytest.approx(BASE, rel=1e-3)
    # one sample interval of 50 us in 20 ms lies across the step: 0.0025 of the mean square
    assert urms.lowest[at] == pytest.approx(BASE * np.sqrt(0.625), rel=2.5e-3)
    assert urms.lowest[at + 1] == pytest.approx(0.5 * BASE, rel=2.5e-3)


def test_lowest_and_highest_phase_are_kept_apart():
    t = np.linspace(0.0, 0.1, 2001)
    volts = make_phases(t, BASE)
    volts["voltage_b"] *= 0.6
    volts["voltage_c"] *= 1.2
    _, urms = read_urms(make_stretch(t, {"host": volts}, "waveform"))
    np.testing.assert_allclose(urms.lowest, 0.6 * BASE, rtol=TRAPEZIUM)
    np.testing.assert_allclose(urms.highest, 1.2 * BASE, rtol=TRAPEZIUM)


def test_fast_chirp_at_constant_volts_per_hertz():
    """v = k f(t) sin(theta(t)), f from 5 to 50 Hz in 1 s: each window is one turn and Urms follows f."""
    t = np.linspace(0.0, 1.0, 40001)
    f = 5.0 + 45.0 * t
    theta = 2.0 * np.pi * (5.0 * t + 22.5 * t**2)
    axis, urms = read_urms(make_waveform(t, BASE * f / 50.0, frequency=f, phase=theta))
    turns = 5.0 * axis.edges + 22.5 * axis.edges**2
    np.testing.assert_allclose(np.diff(turns), 0.5, atol=1e-6)
    # exact one-turn mean square by fine quadrature of the same closed form
    for k in (0, 5, len(axis.starts) - 1):
        fine = np.linspace(axis.starts[k], axis.ends[k], 20001)
        ff = 5.0 + 45.0 * fine
        exact = []
        for lag in range(3):
            v = ff / 50.0 * np.sin(2.0 * np.pi * (5.0 * fine + 22.5 * fine**2) - 2.0 * np.pi * lag / 3.0)
            exact.append(np.sqrt(2.0 * np.trapezoid(v**2, fine) / (fine[-1] - fine[0])))
        assert urms.lowest[k] / BASE == pytest.approx(min(exact), rel=TRAPEZIUM)
        assert urms.highest[k] / BASE == pytest.approx(max(exact), rel=TRAPEZIUM)


def test_a_fixed_window_would_misread_the_chirp():
    """Why the cycle has to be the instantaneous one: at 10 Hz a 20 ms window holds a fifth of a turn."""
    t = np.linspace(0.0, 1.0, 20001)
    fixed = cut_evenly(t, 0.02)
    squares = 2.0 * np.sin(2.0 * np.pi * 10.0 * t) ** 2
    assert np.ptp(cycle_mean(fixed, squares)) > 1.0
    turning = cut_cycles(t, np.full(len(t), 10.0))
    np.testing.assert_allclose(cycle_mean(turning, squares), 1.0, rtol=TRAPEZIUM)


def test_urms_is_continuous_over_handovers_at_any_angle():
    """Envelope - waveform - envelope at one constant voltage has to read that voltage in every window."""
    t0 = np.linspace(0.0, 0.4, 21)
    t2 = np.linspace(0.6, 1.0, 9)
    for angle in np.linspace(0.0, np.pi, 7):
        t1 = np.linspace(0.4, 0.6, 4001) + 0.0
        wave = make_phases(t1, BASE, angle=angle)
        wave["voltage"] = np.full(len(t1), BASE)
        stretches = [make_stretch(t0, {"host": {"voltage": np.full(len(t0), BASE)}}),
                     make_stretch(t1, {"host": wave}, "waveform"),
                     make_stretch(t2, {"host": {"voltage": np.full(len(t2), BASE)}})]
        _, urms = read_urms(*stretches)
        assert len(urms.lowest) == 99
        np.testing.assert_allclose(urms.lowest, BASE, rtol=TRAPEZIUM)
        np.testing.assert_allclose(urms.highest, BASE, rtol=TRAPEZIUM)


def test_handover_off_the_half_cycle_needs_no_stored_magnitude():
    """The magnitude follows from the phases: V_line^2 = sum of (v_k - mean)^2 for a balanced set."""
    t0, t1 = np.linspace(0.0, 0.3037, 16), np.linspace(0.3037, 0.5, 4001)
    stretches = [make_stretch(t0, {"host": {"voltage": np.full(len(t0), BASE)}}), make_waveform(t1, BASE)]
    stretches[1] = make_stretch(t1, {"host": make_phases(t1, BASE, angle=0.7)}, "waveform")
    _, urms = read_urms(*stretches)
    np.testing.assert_allclose(urms.lowest, BASE, rtol=TRAPEZIUM)


def test_long_envelope_steps_hold_many_cycles():
    """Two samples 10 s apart: the square runs straight from 1 to 0.64, as the trapezium rule takes it."""
    t = np.array([0.0, 10.0])
    axis, urms = read_urms(make_stretch(t, {"host": {"voltage": BASE * np.array([1.0, 0.8])}}))
    middle = 0.5 * (axis.starts + axis.ends)
    np.testing.assert_allclose(urms.lowest, BASE * np.sqrt(1.0 - 0.036 * middle), rtol=1e-12)


def test_missing_node_or_short_run_gives_none():
    t = np.linspace(0.0, 0.015, 151)
    assert read_urms(make_waveform(t, BASE))[1] is None
    run = make_run(make_case(machines=[]), make_waveform(np.linspace(0.0, 0.1, 1001), BASE))
    assert measure_urms(run, "nowhere", cut_cycles(run.stretches[0].t, np.full(len(run.stretches[0].t), 50.0))) is None


@settings(max_examples=30, deadline=None)
@given(extra=st.lists(st.floats(0.0, 1.0), min_size=1, max_size=40))
def test_adding_samples_to_a_straight_square_changes_nothing(extra):
    """Property: the trapezium rule is exact on a signal whose square is piecewise straight."""
    corners = np.array([0.0, 0.31, 0.33, 0.7, 1.0])
    values = BASE**2 * np.array([1.0, 1.0, 0.5, 0.9, 1.0])
    finer = np.unique(np.concatenate([corners, extra]))
    finer = finer[np.concatenate([[True], np.diff(finer) > 1e-9])]
    finer = np.unique(np.concatenate([corners, finer]))
    few = read_urms(make_stretch(corners, {"host": {"voltage": np.sqrt(values)}}))[1]
    many = read_urms(make_stretch(finer, {"host": {"voltage": np.sqrt(np.interp(finer, corners, values))}}))[
        1
    ]
    # rounding of theta, and of edges laid in other intervals
    np.testing.assert_allclose(many.lowest, few.lowest, rtol=1e-9)


@settings(max_examples=20, deadline=None)
@given(factor=st.integers(2, 5), angle=st.floats(0.0, 6.0))
def test_finer_sampling_of_one_sine_agrees(factor, angle):
    coarse = read_urms(make_waveform(np.linspace(0.0, 0.2, 2001), BASE, angle=angle))[1]
    fine = read_urms(make_waveform(np.linspace(0.0, 0.2, 2000 * factor + 1), BASE, angle=angle))[1]
    np.testing.assert_allclose(fine.lowest, coarse.lowest, rtol=TRAPEZIUM)
