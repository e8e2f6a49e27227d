"""Derived quantities of cables against closed forms and text-book examples."""

from types import SimpleNamespace

import numpy as np
import pytest

from sim.studies.survey.cables import survey_cable, survey_cables
from studies.arrangements import CABLES, HIGH, LOSSLESS, cable, grid, make, split

SOURCES = ("S. Ray, Electrical Power Systems, example 6.1 (p. 191); T. Gonen, Electric Power Transmission System "
           "Engineering, example 5.4 (p. 220); M. S. Naidu, V. Kamaraju, High Voltage Engineering, example 8.5 "
           "(p. 352); C. L. Wadhwa, High Voltage Engineering, example 7.2 (p. 222)")
# All read in a public collection of re-worked text-book examples and recomputed.
# Usual cables of 36 to 145 kV; the third, 72.5 kV and 300 mm2, was computed like those of `arrangements`.
SIXTY_KM = [CABLES[95], CABLES[240], (0.077, 0.36, 0.22), HIGH]


def line(constants=CABLES[95], branches=()):
    """Record of one sequence, SI."""
    r, inductance, c = constants
    return SimpleNamespace(resistance_ohm_per_m=r * 1e-3, inductance_h_per_m=inductance * 1e-6,
                           capacitance_f_per_m=c * 1e-9, conductance_s_per_m=0.0,
                           branch_resistance_ohm_per_m=tuple(pair[0] for pair in branches),
                           branch_inductance_h_per_m=tuple(pair[1] for pair in branches))


def record(*sections, **more):
    """Cable of sections (km, line)."""
    pieces = [SimpleNamespace(length_m=km * 1e3, positive=positive) for km, positive in sections]
    return SimpleNamespace(sections=pieces, **more)


def look(constants, km=1.0, kv=33.0, hz=50.0, **more):
    return survey_cable(record((km, line(constants)), **more), kv * 1e3, hz)


@pytest.mark.parametrize("kv, hz, km, c, amperes, kvar", [
    (11.0, 50.0, 1.0, 0.56, 1.117, 21.29),              # Ray: 0.28 uF/km between cores, twice to neutral
    (34.5, 60.0, 2 * 1.609344, 8.0 / (2 * 1.609344), 60.07, None),      # Gonen: 8 uF to neutral over 2 miles
    (33.0, 50.0, 1.0, 0.18, None, 61.0),                # 36 kV, 95 mm2 at 33 kV: 61 kvar/km, by hand from the geometry
    (33.0, 50.0, 1.0, 0.24, 1.44, 82.0),                # the same of 240 mm2
])
def test_charging(kv, hz, km, c, amperes, kvar):
    found = look((0.1, 0.4, c), km, kv, hz)
    if amperes:         # half a unit of the last digit printed, on at least three digits
        assert found["charging_current_a"] == pytest.approx(amperes, rel=4e-3)
    if kvar:
        assert 1e3 * found["charging_mvar"] == pytest.approx(kvar, rel=1e-2)


@pytest.mark.parametrize("inductance, c, surge, velocity", [(0.189, 0.3, 25.1, 1.328e5), (0.3, 0.4, 27.39, None)])
def test_surge_impedance_and_velocity(inductance, c, surge, velocity):
    found = look((0.1, inductance, c), km=40.0)
    assert found["surge_impedance_ohm"] == pytest.approx(surge, rel=5e-4 if velocity is None else 2e-3)
    if velocity:
        assert found["velocity_km_per_s"] == pytest.approx(velocity, rel=5e-4)
    assert found["front_travel_time_us"] == pytest.approx(40e6 / found["velocity_km_per_s"], rel=1e-12)


@pytest.mark.parametrize("km, hz", [(60.0, 50.0), (120.0, 50.0), (220.0, 16.7)])
def test_ferranti_of_a_lossless_cable(km, hz):
    """1/cos(beta l), any text on transmission lines; losses of 1e-6 ohm/km change nothing."""
    beta = 2.0 * np.pi * hz * np.sqrt(0.38e-3 * 0.18e-6)
    found = look((LOSSLESS, 0.38, 0.18), km, hz=hz)
    assert found["ferranti_rise_pct"] == pytest.approx(100.0 / np.cos(beta * km) - 100.0, rel=1e-8)


def test_ferranti_of_a_long_line():
    """1.09674 for 400 km of 1.26 mH/km and 0.009 uF/km: Naidu and Kamaraju, example 8.8, its slip corrected."""
    assert look((LOSSLESS, 1.26, 0.009), 400.0)["ferranti_rise_pct"] == pytest.approx(9.674, abs=5e-4)


@pytest.mark.parametrize("constants", SIXTY_KM)
def test_quarter_wave(constants):
    """f = 1/(4 l sqrt(LC)), lower by (R/wL)^2/8 because resistance slows the wave: the phase constant is
    w sqrt(LC) (1 + (R/wL)^2/8 - ...).  The known range of such cables at 60 km is 450 to 510 Hz, to two digits."""
    found = look(constants, 60.0)
    quarter = 1.0 / (4.0 * 60.0 * np.sqrt(constants[1] * 1e-3 * constants[2] * 1e-6))
    share = constants[0] / (2.0 * np.pi * quarter * constants[1] * 1e-3)
    # the next term of the series is share^4 of order 1/10: 1.5e-4 for the highest resistance
    assert found["first_resonance_hz"] == pytest.approx(quarter * (1.0 - share**2 / 8.0), rel=2e-4)
    assert 445.0 <= found["first_resonance_hz"] <= 515.0


def test_two_halves_are_the_whole():
    whole = look(CABLES[240], 44.0)
    halves = survey_cable(record((20.0, line(CABLES[240])), (24.0, line(CABLES[240]))), 33e3, 50.0)
    assert split(halves)[0] == pytest.approx(split(whole)[0], rel=1e-7)     # the peak is flat: root of rounding
    assert split(halves)[1] == split(whole)[1]


def test_sections_of_different_surge_impedance():
    """Equal travel times: cos^2 - (Z1/Z2) sin^2 = 0, so tan^2(w tau) = Z2/Z1."""
    first, second = (LOSSLESS, 0.4, 0.1), (LOSSLESS, 0.1, 0.4)       # 63.2 and 15.8 ohm, the same velocity
    found = survey_cable(record((30.0, line(first)), (30.0, line(second))), 33e3, 50.0)
    tau = 30.0 * np.sqrt(0.4e-3 * 0.1e-6)
    assert found["surge_impedance_ohm"] is None
    assert found["front_travel_time_us"] == pytest.approx(2e6 * tau, rel=1e-12)
    assert found["first_resonance_hz"] == pytest.approx(np.arctan(0.5) / (2.0 * np.pi * tau), rel=1e-6)


def test_branches_raise_the_resistance_at_rated_frequency():
    """R' + Rk x^2/(1 + x^2) with x = w Lk/Rk; here x = 1."""
    rate = 2.0 * np.pi * 50.0
    found = survey_cable(record((10.0, line(CABLES[95], [(1e-4, 1e-4 / rate)]))), 33e3, 50.0)
    assert found["resistance_ohm"] == pytest.approx(10e3 * (0.246e-3 + 0.5e-4), rel=1e-12)
    assert found["reactance_ohm"] == pytest.approx(10e3 * (rate * 0.41e-6 + 0.5e-4), rel=1e-12)


def test_no_load_loss_of_a_short_cable():
    """Current falls evenly to the open end: three phases of R l Ic^2/3 each; (beta l)^2 = 5e-4 is neglected."""
    found = look(CABLES[95], 8.0)
    assert 1e3 * found["no_load_loss_kw"] == pytest.approx(
        found["resistance_ohm"] * found["charging_current_a"] ** 2, rel=1e-3)


def test_ampacity():
    found = look(CABLES[95], 28.0, ampacity_a=250.0)
    assert found["charging_share_of_ampacity_pct"] == pytest.approx(found["charging_current_a"] / 2.5, rel=1e-12)
    assert found["loss_at_ampacity_kw"] == pytest.approx(3.0 * 250.0**2 * 0.246 * 28.0 / 1e3, rel=1e-12)
    assert look(CABLES[95])["loss_at_ampacity_kw"] is None


def test_cable_of_a_case():
    found = survey_cables(make(grid(), cable(km=28.0, ampacity_a=250.0)))["feeder"]
    assert found == pytest.approx(look(CABLES[95], 28.0, ampacity_a=250.0), rel=1e-7)      # units converted
