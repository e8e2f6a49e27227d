"""Switching formulas against the integration of their circuits."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from . import line, switching

TIGHT = dict(rtol=1e-11, atol=1e-12, method="DOP853")


def test_rl_energisation_solves_its_circuit():
    w, angle = 2.0 * np.pi * 50.0, 0.4
    t = np.linspace(0.0, 0.08, 33)
    solution = solve_ivp(lambda t, i: (100.0 * np.sin(w * t + angle) - 10.0 * i) / 0.1, (0.0, 0.08), [0.0],
                         t_eval=t, **TIGHT)
    got = switching.rl_energisation(t, 100.0, 10.0, 0.1, 50.0, angle)
    assert np.allclose(got, solution.y[0], rtol=0.0, atol=1e-9)       # solver's tolerance


def test_no_offset_when_closed_at_the_angle_of_the_impedance():
    phi = np.arctan2(2.0 * np.pi * 50.0 * 0.1, 10.0)
    t = np.array([0.0, 0.005, 0.01])
    got = switching.rl_energisation(t, 100.0, 10.0, 0.1, 50.0, phi)
    assert got[2] == pytest.approx(-got[0], abs=1e-12) and got[0] == 0.0


def test_recovery_voltage_solves_its_circuit():
    inductance, capacitance, peak, w = 5.0 / (100.0 * np.pi), 2e-6, 8980.0, 100.0 * np.pi

    def rates(t, y):
        return [(peak * np.cos(w * t) - y[1]) / inductance, y[0] / capacitance]

    t = np.linspace(0.0, 5e-3, 101)
    solution = solve_ivp(rates, (0.0, 5e-3), [0.0, 0.0], t_eval=t, **TIGHT)
    got = switching.recovery_voltage(t, peak, inductance, capacitance, 50.0)
    assert np.allclose(got, solution.y[1], rtol=0.0, atol=1e-5)       # 1e-9 of the peak
    slope = np.diff(got).max() / (t[1] - t[0])
    # sampled 50 us at 892 Hz: a chord is (w dt)^2/24 = 0.3 % less steep; the moving source adds 0.3 %
    assert slope == pytest.approx(switching.recovery_steepest_rate(peak, inductance, capacitance), rel=0.01)


def test_chopped_current_swings_to_the_energy_peak():
    inductance, capacitance = 6.0, 10e-9
    period = 1.0 / switching.recovery_frequency(inductance, capacitance)
    t = np.linspace(0.0, period, 20001)
    v = switching.chopped_oscillation(t, 5.0, inductance, capacitance, 30e3)
    # sampled 20000 times a period: 1e-7 of the peak at most is missed
    peak = switching.chop_voltage(5.0, inductance, capacitance, 30e3)
    assert np.abs(v).max() == pytest.approx(peak, rel=1e-6)
    assert v[0] == 30e3 and v[1] < v[0]


def test_critical_resistance_makes_both_roots_equal():
    r = switching.critical_resistance(6.0, 10e-9)
    damping, natural = 1.0 / (2.0 * r * 10e-9), 1.0 / np.sqrt(6.0 * 10e-9)
    assert damping == pytest.approx(natural, rel=1e-12)


def test_capacitive_recovery_reaches_two_and_two_and_a_half():
    """Theory of capacitive switching (from memory, to be checked): 2.0 earthed, 2.5 first pole isolated."""
    t = np.linspace(0.0, 0.01, 2001)
    earthed = switching.capacitive_recovery(t, 1.0, 50.0)
    isolated = switching.capacitive_recovery(t, 1.0, 50.0, isolated=True)
    assert earthed.max() == pytest.approx(2.0, rel=1e-12) and t[earthed.argmax()] == pytest.approx(0.01)
    assert isolated.max() == pytest.approx(2.5, rel=1e-12) and earthed[0] == isolated[0] == 0.0
    assert np.abs(np.diff(isolated)).max() < 0.01                 # no jump where the other poles clear


def test_first_pole_of_isolated_bank_by_charge_conservation():
    """Before the other poles clear: bank charges on b and c keep their sum, so the star point follows va."""
    angle = 0.8
    va, vb, vc = np.cos(angle + np.array([0.0, -2.0, 2.0]) * np.pi / 3.0)
    trapped_a, trapped_bc = 1.0, -1.0
    neutral = 0.5 * (vb + vc - trapped_bc)
    expected = trapped_a + neutral - va
    got = switching.capacitive_recovery(angle / (100.0 * np.pi), 1.0, 50.0, isolated=True)
    assert got == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("resistance", [20e3, 200e3, 1e9])
def test_damped_chop_solves_its_circuit(resistance):
    inductance, capacitance = 6.0, 10e-9
    t = np.linspace(0.0, 5e-3, 501)

    def rates(t, y):            # the coil's current discharges the capacitor
        return [-(y[1] + y[0] / resistance) / capacitance, y[0] / inductance]

    solution = solve_ivp(rates, (0.0, 5e-3), [30e3, 5.0], t_eval=t, **TIGHT)
    got = switching.damped_chop(t, 5.0, inductance, capacitance, resistance, 30e3)
    assert np.allclose(got, solution.y[0], rtol=0.0, atol=1e-3)           # 1e-8 of the peak of 126 kV
    if resistance == 1e9:
        undamped = switching.chopped_oscillation(t, 5.0, inductance, capacitance, 30e3)
        assert np.allclose(got, undamped, rtol=0.0, atol=1e-2 * 126e3)    # t/2RC = 2.5e-4, twice in the exponent


def test_reclosing_reaches_three():
    """-1 pu trapped, closed at the crest of a source that stands still against the travel time."""
    t = np.linspace(0.0, 2e-3, 4001)
    far = switching.open_end_voltage(t, 0.4e-3, -1.0, lambda time: np.ones_like(time))
    assert far.max() == pytest.approx(switching.reclosing_peak(1.0, -1.0), rel=1e-12) == pytest.approx(3.0)
    assert far[t < 0.4e-3] == pytest.approx(-1.0) and far[-1] == pytest.approx(3.0)
    assert far[(t > 1.2e-3) & (t < 1.99e-3)] == pytest.approx(-1.0)       # the reflected front turns it round


def test_open_end_follows_the_two_port():
    """Sine of angle zero, no trapped charge, against the inverted two-port (no jump: 1e-5 of 1 V and less)."""
    uniform = line.Line(0.0, 0.41e-6, 0.18e-9, 30e3)
    t = np.array([0.5e-3, 1.3e-3, 2.9e-3, 4.4e-3])
    expected = line.invert(lambda s: line.cosine(s, 50.0, -0.5 * np.pi) / line.chain_matrix(uniform, s)[0], t)
    got = switching.open_end_voltage(t, line.travel_time(uniform), 0.0, lambda time: np.sin(100.0 * np.pi * time))
    assert got == pytest.approx(expected, abs=1e-4)


CABLE = dict(peak=8165.0, frequency=50.0, capacitance=5e-6)
W50 = 100.0 * np.pi


def reactor(share):
    return 1.0 / (share * W50**2 * CABLE["capacitance"])


@pytest.mark.parametrize("share", [0.3, 0.7, 0.95])
def test_compensated_current_is_alternating_part_and_offset(share):
    """Without resistance: from the closing on, (k - 1) times the charging current reversed and a constant."""
    inductance = reactor(share)
    assert switching.compensation(50.0, CABLE["capacitance"], inductance) == pytest.approx(share, rel=1e-12)
    alternating, offset = switching.alternating_and_offset(CABLE["peak"], 50.0, 0.3, CABLE["capacitance"],
                                                           inductance)
    t = np.linspace(0.0, 0.02, 2001)
    i = switching.compensated_current(t, angle=0.3, inductance=inductance, **CABLE)
    assert i[:-1].mean() == pytest.approx(offset, rel=1e-9)
    assert np.ptp(i) / 2.0 == pytest.approx(alternating, rel=1e-5)        # sampled 2000 times a period


def test_no_zeros_are_missed_below_half_compensation():
    assert switching.zero_free_time(0.45, reactor(0.45), 1.0) == 0.0
    assert switching.first_zero(CABLE["peak"], 50.0, 0.0, CABLE["capacitance"], reactor(0.45), 1.0) < 0.02


@pytest.mark.parametrize("share", [0.6, 0.7, 0.9])
def test_first_zero_follows_the_decay_of_the_offset(share):
    """The zero falls on the first trough after the offset has sunk to the alternating crest: within a cycle."""
    inductance = reactor(share)
    resistance = W50 * inductance / 60.0
    wait = switching.zero_free_time(share, inductance, resistance)
    found = switching.first_zero(CABLE["peak"], 50.0, 0.0, CABLE["capacitance"], inductance, resistance)
    assert wait - 1e-3 < found < wait + 0.02          # the losses, 1/60, turn the alternating part a little
    i = switching.compensated_current(np.linspace(1e-6, 0.999 * found, 5000), angle=0.0, inductance=inductance,
                                      resistance=resistance, **CABLE)
    assert (i > 0.0).all()


def test_closing_at_the_crest_leaves_no_offset():
    """The current starts at its zero; the next one is half a cycle later, moved by the losses (1/796 of a radian at
    most on either part of it, 4 us each)."""
    crest = 0.5 * np.pi
    offset = switching.alternating_and_offset(1.0, 50.0, crest, CABLE["capacitance"], reactor(0.8))[1]
    assert offset == pytest.approx(0.0, abs=1e-15)
    found = switching.first_zero(CABLE["peak"], 50.0, crest, CABLE["capacitance"], reactor(0.8), 1.0)
    assert found == pytest.approx(0.01, abs=5e-5)


def test_compensated_current_solves_its_circuit():
    """Reactor by a general-purpose solver, capacitance by its derivative."""
    inductance, resistance, angle = reactor(0.7), 12.0, 0.2
    t = np.linspace(0.0, 0.1, 401)
    run = solve_ivp(lambda time, i: (CABLE["peak"] * np.sin(W50 * time + angle) - resistance * i) / inductance,
                    (0.0, 0.1), [0.0], t_eval=t, **TIGHT)
    expected = run.y[0] + CABLE["capacitance"] * CABLE["peak"] * W50 * np.cos(W50 * t + angle)
    got = switching.compensated_current(t, angle=angle, inductance=inductance, resistance=resistance, **CABLE)
    assert np.allclose(got, expected, rtol=0.0, atol=1e-8)
