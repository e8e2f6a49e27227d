"""IEC 60287-1-1 against a worked cable: 30 kV, three-core, 630 mm2 copper.

Dimensions and formulae: a public script quoting IEC 60287-1-1 and CIGRE TB 880; results recomputed
independently of this project.
"""

import pytest

from sim.params.cable import iec60287 as iec

DIAMETER, SPACING = 30.0e-3, 62.1e-3
INSULATION = 32.5e-3 / 2, 48.5e-3 / 2
PRINTED = 1e-3                      # tolerance of the worked example: four digits are printed


@pytest.mark.parametrize("frequency, temperature, dc, xs, ys, yp, plain, in_steel", [
    (50, 20, 0.028300, 2.1072, 0.09490, 0.07323, 0.033058, 0.035437),
    (50, 90, 0.036085, 1.8661, 0.06012, 0.05118, 0.040102, 0.042110),
    (60, 20, 0.028300, 2.3084, 0.13224, 0.09278, 0.034668, 0.037852),
    (60, 90, 0.036085, 2.0442, 0.08478, 0.06725, 0.041572, 0.044315),
])
def test_ac_resistance_of_the_worked_cable(frequency, temperature, dc, xs, ys, yp, plain, in_steel):
    resistance = iec.hot_resistance(0.0283e-3, "copper", temperature)
    x = iec.skin_argument(resistance, frequency)
    assert resistance * 1e3 == pytest.approx(dc, rel=PRINTED)
    assert x == pytest.approx(xs, rel=PRINTED)
    assert iec.skin_factor(x) == pytest.approx(ys, rel=PRINTED)
    assert iec.proximity_factor(x, DIAMETER, SPACING) == pytest.approx(yp, rel=PRINTED)
    args = resistance, frequency, DIAMETER, SPACING
    assert iec.ac_resistance(*args) * 1e3 == pytest.approx(plain, rel=PRINTED)
    assert iec.ac_resistance(*args, in_steel=True) * 1e3 == pytest.approx(in_steel, rel=PRINTED)


def test_capacitance_and_charging_of_the_worked_cable():
    capacitance = iec.core_capacitance(2.5, *INSULATION)
    assert capacitance * 1e9 == pytest.approx(0.3474, rel=PRINTED)                              # uF/km
    assert iec.charging_current(capacitance, 50.0, 30e3) * 1e3 == pytest.approx(1.890, rel=PRINTED)      # A/km
    assert iec.charging_power(capacitance, 50.0, 30e3) == pytest.approx(98.2, rel=PRINTED)      # kvar/km = var/m


@pytest.mark.parametrize("x", [2.8, 3.8])
def test_ranges_of_skin_factor_meet(x):
    # the standard's three formulae are approximations of 0.6 % of the resistance: they meet to that
    assert iec.skin_factor(x + 1e-9) == pytest.approx(iec.skin_factor(x), abs=0.006)


def test_reduced_coefficients_lower_the_resistance():
    whole = iec.ac_resistance(3e-5, 50.0, DIAMETER, SPACING)
    assert 3e-5 < iec.ac_resistance(3e-5, 50.0, DIAMETER, SPACING, ks=0.62, kp=0.37) < whole


def test_no_ac_effect_at_standstill_of_the_field():
    assert iec.ac_resistance(3e-5, 0.0, DIAMETER, SPACING) == 3e-5
