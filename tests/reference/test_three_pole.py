"""Poles one after the other: closed forms of one phase, phasors, and the same circuit with resistances for poles."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from . import switching, three_phase, three_pole

SOURCE = three_pole.Source(8165.0, 50.0, 0.3)
W = 100.0 * np.pi
NONE = np.zeros((3, 3))
TWO_COILS = three_phase.phase_matrix(60e-3, 20e-3).real           # H, coupled phases
TWO_LOSSES = three_phase.phase_matrix(3.0, 2.0).real
BANK = three_phase.phase_matrix(0.0, 1.0 / 30e-6).real             # 1/F of an isolated bank has no zero sequence
CLOSINGS = [(1e-3, 0, "close"), (4.2e-3, 2, "close"), (7.7e-3, 1, "close")]
T = np.linspace(0.0, 0.05, 251)


def test_earthed_phases_without_coupling_follow_the_single_phase_form():
    r, l = 2.0, 20e-3
    found = three_pole.respond(three_pole.Star(r * np.eye(3), l * np.eye(3), NONE), SOURCE, CLOSINGS, T)
    for time, phase, _ in CLOSINGS:
        angle = W * time + SOURCE.angle + three_pole.TURNS[phase] + 0.5 * np.pi
        later = np.maximum(T - time, 0.0)
        exact = switching.rl_energisation(later, SOURCE.peak, r, l, 50.0, angle)
        assert np.abs(found.current[:, phase] - exact).max() < 1e-9 * np.abs(exact).max()


def test_isolated_star_carries_nothing_until_two_poles_close():
    """Then two phases in series across the line voltage, until the third."""
    r, l = 2.0, 20e-3
    star = three_pole.Star(r * np.eye(3), l * np.eye(3), NONE, earthed=False)
    found = three_pole.respond(star, SOURCE, CLOSINGS, T)
    assert np.abs(found.current[T < 4.2e-3]).max() == 0.0
    between = (T >= 4.2e-3) & (T < 7.7e-3)
    # e_a - e_c: sqrt(3) of the crest, 30 degrees behind phase a
    angle = W * 4.2e-3 + SOURCE.angle - np.pi / 6.0 + 0.5 * np.pi
    exact = switching.rl_energisation(T[between] - 4.2e-3, np.sqrt(3.0) * SOURCE.peak, 2.0 * r, 2.0 * l, 50.0, angle)
    assert found.current[between, 0] == pytest.approx(exact, abs=1e-9 * np.abs(exact).max())
    assert found.current[between, 2] == pytest.approx(-exact, abs=1e-9 * np.abs(exact).max())
    assert np.abs(found.current.sum(axis=1)).max() < 1e-9 * np.abs(found.current).max()


def test_open_phase_of_an_isolated_star_stands_at_the_star_point():
    """Two equal phases on: halfway between their voltages, minus half of the third one."""
    star = three_pole.Star(2.0 * np.eye(3), 20e-3 * np.eye(3), NONE, earthed=False)
    found = three_pole.respond(star, SOURCE, CLOSINGS, T)
    emf = three_pole.emfs(SOURCE, T)
    between = (T >= 4.2e-3) & (T < 7.7e-3)
    assert found.voltage[between, 1] == pytest.approx(-0.5 * emf[between, 1], abs=1e-9 * SOURCE.peak)
    one = (T >= 1e-3) & (T < 4.2e-3)
    assert found.voltage[one] == pytest.approx(np.repeat(emf[one, :1], 3, axis=1), abs=1e-9 * SOURCE.peak)


def with_resistors(star, orders, t, open_ohm=1e8, earth_ohm=1e8):
    """The same with poles as resistances, the star point of an isolated load behind one more."""
    closed = np.zeros(3)
    r0 = star.resistance + (0.0 if star.earthed else earth_ohm)
    out, state, now = [], np.zeros(6), 0.0
    spans = [*sorted(orders), (t[-1] + 1e-9, None, None)]
    for until, phase, _ in spans:
        poles = np.diag(np.where(closed > 0.0, 0.0, open_ohm))

        def rates(time, y, poles=poles):
            drive = three_pole.emfs(SOURCE, time) - (r0 + poles) @ y[:3] - star.elastance @ y[3:]
            return np.concatenate([np.linalg.solve(star.inductance, drive), y[:3]])

        inside = t[(t >= now) & (t < until)]
        run = solve_ivp(rates, (now, until), state, method="Radau", t_eval=np.append(inside, until), rtol=1e-8,
                        atol=np.array([1e-6] * 3 + [1e-9] * 3))
        out.append(run.y[:3, :-1].T)
        state, now = run.y[:, -1], until
        if phase is not None:
            closed[phase] = 1.0
    return np.concatenate(out)


@pytest.mark.parametrize("earthed", [True, False])
@pytest.mark.parametrize("elastance", [NONE, BANK], ids=["RL", "RLC"])
def test_coupled_phases_agree_with_resistances_for_poles(earthed, elastance):
    """100 Mohm for an open pole and for the star point's isolation: 0.1 mA, and what it charges in 5 ms: 1e-5."""
    star = three_pole.Star(TWO_LOSSES, TWO_COILS, elastance, earthed)
    t = T[T < 0.025]
    found = three_pole.respond(star, SOURCE, CLOSINGS, t)
    expected = with_resistors(star, CLOSINGS, t)
    assert np.abs(found.current - expected).max() < 2e-5 * np.abs(expected).max()


@pytest.mark.parametrize("earthed", [True, False])
def test_all_poles_settle_to_phasors(earthed):
    star = three_pole.Star(20.0 * np.eye(3), TWO_COILS, NONE, earthed)
    t = np.linspace(0.2, 0.22, 101)
    found = three_pole.respond(star, SOURCE, CLOSINGS, t)
    phasor = SOURCE.peak * np.exp(1j * SOURCE.angle) / (20.0 + 20e-3j * W)      # balanced: no zero sequence
    exact = np.real(phasor * np.exp(1j * (W * t[:, None] + three_pole.TURNS)))
    # the zero-sequence offset dies with 60 mH/20 ohm = 3 ms
    assert np.abs(found.current - exact).max() < 1e-9 * abs(phasor)


def test_capacitor_behind_a_resistance_charges_by_an_exponential():
    r, c = 50.0, 20e-6
    star = three_pole.Star(r * np.eye(3), NONE, np.eye(3) / c)
    found = three_pole.respond(star, SOURCE, CLOSINGS, T, charge=(0.02, 0.0, -0.01))
    for time, phase, _ in CLOSINGS:
        later = T >= time
        held = (0.02, 0.0, -0.01)[phase] / c
        phasor = SOURCE.peak * np.exp(1j * (SOURCE.angle + three_pole.TURNS[phase])) / (1.0 + 1j * W * r * c)
        forced = np.real(phasor * np.exp(1j * W * T[later]))
        start = np.real(phasor * np.exp(1j * W * time))
        v = forced + (held - start) * np.exp(-(T[later] - time) / (r * c))
        emf = three_pole.emfs(SOURCE, T[later])[:, phase]
        assert found.current[later, phase] == pytest.approx((emf - v) / r, abs=1e-9 * SOURCE.peak / r)
        assert found.voltage[~later, phase] == pytest.approx(held)


@pytest.mark.parametrize("earthed", [True, False])
def test_poles_open_at_zeros_of_their_current(earthed):
    """Steady RL load: zeros 60 degrees apart when earthed; isolated: a quarter cycle after the first, two together.

    Time constant 1 ms, so that offsets of closing and of the first opening are gone when the next pole opens; the
    offset of the first opening is left, exp(-5).
    """
    star = three_pole.Star(20.0 * np.eye(3), 20e-3 * np.eye(3), NONE, earthed)
    orders = [(0.0, phase, "close") for phase in range(3)] + [(0.0505, phase, "open") for phase in range(3)]
    t = np.linspace(0.0, 0.08, 401)
    found = three_pole.respond(star, SOURCE, orders, t)
    times = sorted(found.opened.values())
    assert times[0] >= 0.0505 and len(times) == 3
    if earthed:
        assert np.diff(times) == pytest.approx(0.01 / 3.0, abs=1e-9)
    else:
        assert times[1] - times[0] == pytest.approx(5e-3, abs=2e-5)
        assert times[2] == times[1]
    assert np.abs(found.current[t > times[2]]).max() == 0.0


def test_order_to_close_calls_off_an_opening():
    star = three_pole.Star(2.0 * np.eye(3), 20e-3 * np.eye(3), NONE)
    orders = [(0.0, 0, "close"), (1e-3, 0, "open"), (1.5e-3, 0, "close")]
    found = three_pole.respond(star, SOURCE, orders, np.linspace(0.0, 0.04, 81))
    assert found.opened == {} and np.abs(found.current[-10:, 0]).max() > 1.0
