"""Main path of a motor from its no-load curve: the stator's drop, the knees, their number, what is refused."""

from math import sqrt

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from sim.params.motor import knees as mk
from sim.params.motor import no_load as nl

EXACT = 1e-9
VOLTS = 6600.0
STATOR = nl.Stator(0.2, 1.8, 3e3 / VOLTS**2, VOLTS)        # 3 kW of losses outside the circuit
PATH = nl.MainPath(80.0, (0.7, 0.9, 1.05), (0.3, 1.0, 3.5))
SHARES = (20, 40, 60, 70, 80, 85, 90, 95, 100, 105, 110, 115, 120, 125)


def list_curve(path, stator=STATOR, shares=SHARES):
    volts = [stator.rated_voltage * share / 100.0 for share in shares]
    return volts, [nl.find_no_load_current(path, stator, each) for each in volts]


def froelich(flux, reactance=90.0, straight=0.5, limit=1.6):
    """Current times reactance of iron that is straight up to a flux and then follows Froelich's hyperbola. [pu]"""
    beyond = np.maximum(flux - straight, 0.0)
    return flux + beyond**2 / (limit - flux)


def draw_smooth(shares, stator=STATOR, reactance=90.0):
    """Points of the hyperbola as a test would show them: flux chosen so that the terminals see the voltages."""
    volts, amps = [], []
    fluxes = np.linspace(1e-3, 1.4, 20001)
    own = froelich(fluxes) * stator.rated_voltage / reactance
    gap = fluxes * stator.rated_voltage
    # V = E + (R + jX)(-j i), I = G V - j i: phasors, the gap's voltage real
    terminal = gap + (stator.resistance + 1j * stator.reactance) * -1j * own
    line = stator.conductance * terminal - 1j * own
    for share in shares:
        volts.append(stator.rated_voltage * share / 100.0)
        amps.append(float(np.interp(volts[-1], np.abs(terminal), np.abs(line))) / sqrt(3.0))
    return volts, amps


@given(st.floats(0.02, 3.0), st.floats(0.0, 8.0), st.floats(0.0, 2e-4), st.floats(0.1, 1.3))
def test_points_take_the_stator_off(resistance, reactance, conductance, flux):
    # phasors backwards: from the gap to the terminals
    stator = nl.Stator(resistance, reactance, conductance, VOLTS)
    own, gap = nl.find_magnetising(PATH, flux) * VOLTS, flux * VOLTS
    assume(reactance * own < 0.5 * gap)
    terminal = gap + complex(resistance, reactance) * -1j * own
    line = conductance * terminal - 1j * own
    (point,) = nl.find_points([abs(terminal)], [abs(line) / sqrt(3.0)], stator)
    assert (point.flux, point.susceptance) == pytest.approx((flux, own / VOLTS), rel=1e-7)
    assert nl.find_no_load_current(PATH, stator, abs(terminal)) == pytest.approx(abs(line) / sqrt(3.0), rel=1e-7)


def test_current_of_a_straight_path_is_that_of_the_circuit():
    straight = nl.MainPath(80.0, (), ())
    admittance = 1.0 / complex(0.2, 81.8) + STATOR.conductance
    assert nl.find_no_load_current(straight, STATOR, VOLTS) == pytest.approx(abs(admittance) * VOLTS / sqrt(3.0),
                                                                             rel=1e-12)


def test_two_straight_lines():
    knees, added = nl.bend_once(1.15, 0.2)
    path = nl.MainPath(80.0, knees, added)
    assert nl.find_magnetising(path, 1.15) * 80.0 == pytest.approx(1.15)
    # beyond the knee a fifth of the inductance: five times the current for the same flux
    assert (nl.find_magnetising(path, 1.25) - nl.find_magnetising(path, 1.15)) * 80.0 == pytest.approx(0.5)


def test_knees_at_measured_points_come_back():
    # points where the flux is that of the knees, and on the straight part
    fluxes = [0.3, 0.5, 0.7, 0.9, 1.05, 1.2]
    volts, amps = [], []
    for flux in fluxes:
        own = nl.find_magnetising(PATH, flux) * VOLTS
        terminal = flux * VOLTS + complex(STATOR.resistance, STATOR.reactance) * -1j * own
        volts.append(abs(terminal))
        amps.append(abs(STATOR.conductance * terminal - 1j * own) / sqrt(3.0))
    fit = mk.find_main_path(volts, amps, STATOR)
    assert fit.path.reactance == pytest.approx(PATH.reactance, rel=EXACT) and fit.error < 1e-7
    assert [k for k, a in zip(fit.path.knees, fit.path.added) if a > 1e-6] == pytest.approx(PATH.knees, rel=EXACT)
    assert [a for a in fit.path.added if a > 1e-6] == pytest.approx(PATH.added, rel=1e-6)


@pytest.mark.parametrize("shares", [SHARES, (40, 60, 80, 100, 120), tuple(range(10, 131, 5))])
def test_smooth_iron(shares):
    fit = mk.find_main_path(*draw_smooth(shares), STATOR)
    path = fit.path
    assert len(path.knees) <= mk.MOST_BENDS and all(added > 0.0 for added in path.added)
    assert path.reactance == pytest.approx(90.0, rel=1e-3)          # read off a grid of 20 001 fluxes
    assert fit.error < 0.02
    between = [0.5 * (a + b) for a, b in zip(shares, shares[1:])]
    volts, amps = draw_smooth(between)
    for each, current in zip(volts, amps):
        # a chord lies above a convex curve: most in the widest gap, 20 % of voltage around the knee
        allowed = 0.05 if len(shares) < 6 else 0.02
        assert nl.find_no_load_current(path, STATOR, each) == pytest.approx(current, rel=allowed)


def test_stator_of_a_given_reactance():
    curve = list_curve(PATH)
    given_one = mk.find_main_path(*curve, STATOR, 80.0)
    own = mk.find_main_path(*curve, STATOR)
    assert given_one.path.reactance == 80.0
    assert own.path.reactance == pytest.approx(80.0, rel=1e-6)
    assert given_one.path.knees == pytest.approx(own.path.knees, rel=1e-6)


@pytest.mark.parametrize("reactance, told", [
    (60.0, "a point draws 25 % less than the magnetising reactance of 60 ohm; give the unsaturated one, 80 ohm"),
    (100.0, "no point lies on the straight line of .* reactance of 100 ohm, the nearest draws 25 % more")])
def test_reactance_that_contradicts_the_curve(reactance, told):
    with pytest.raises(ValueError, match=told):
        mk.find_main_path(*list_curve(PATH), STATOR, reactance)


def test_no_point_on_the_straight_part():
    with pytest.raises(ValueError, match="no point lies on the straight part of the curve: add one at 60 % voltage"):
        mk.find_main_path(*list_curve(PATH, shares=(85, 100, 110, 120)), STATOR)
    assert mk.find_main_path(*list_curve(PATH, shares=(65, 70, 100, 120)), STATOR).error < 0.02


def test_points_that_cannot_be():
    with pytest.raises(ValueError, match="0.1 A at 100 % voltage is less than the losses outside the circuit take"):
        nl.find_points([VOLTS], [0.1], STATOR)
    with pytest.raises(ValueError, match="2500 A at 100 % voltage drops all of the voltage in the stator"):
        nl.find_points([VOLTS], [2500.0], STATOR)


def test_a_curve_that_steepens_and_falls_back_is_refused():
    volts, amps = list_curve(PATH, shares=(40, 60, 80, 90, 100, 110, 120))
    amps[2:4] = [0.9 * amps[4], 0.95 * amps[4]]                     # as good as flat from 80 to 100 %
    with pytest.raises(ValueError, match=r"no curve that only flattens comes closer .* check that point"):
        mk.find_main_path(volts, amps, STATOR)


def test_noise_of_a_test_is_smoothed_and_stated():
    volts, amps = draw_smooth(SHARES)
    amps = [each * (1.0 + 0.01 * (-1) ** k) for k, each in enumerate(amps)]
    fit = mk.find_main_path(volts, amps, STATOR)
    errors = [nl.find_no_load_current(fit.path, STATOR, each) / current - 1.0 for each, current in zip(volts, amps)]
    # in terms of the main path's current; the terminals' differs by what the stator's drop gives back
    assert max(map(abs, errors)) <= fit.error + 1e-9 <= 0.03


def test_extrapolation_goes_on_with_the_last_slope():
    fit = mk.find_main_path(*list_curve(PATH, shares=(40, 60, 80, 100, 120)), STATOR)
    steps = np.diff([nl.find_magnetising(fit.path, flux) for flux in (1.3, 1.4, 1.5)])
    assert steps[0] == pytest.approx(steps[1], rel=EXACT)


def test_base_of_the_flux():
    # rated voltage over rated angular frequency: at the gap's rated voltage the flux is 1
    (point,) = nl.find_points([VOLTS], [10.0], nl.Stator(0.0, 0.0, 0.0, VOLTS))
    assert point == (1.0, pytest.approx(10.0 * sqrt(3.0) / VOLTS))
