"""Handbook formulae of a sheathed trefoil against worked examples.

Sources
-------
T. Gonen, *Electrical Power Transmission System Engineering*, example 5.9, read in a public collection of re-worked
examples and recomputed.  30 kV, 630 mm2: a public script that works CIGRE TB 880.
"""

from math import pi

import pytest

from .sheathed_trefoil import find_circulating_loss, find_inductance, find_sheath_reactance

MILE, INCH = 1609.344, 0.0254
PRINTED = 2e-3                      # results are rounded to three or four digits


def test_inductance_of_the_worked_30_kv_cable():
    assert find_inductance(30.0e-3, 62.1e-3) * 1e6 == pytest.approx(0.3341, rel=PRINTED)        # mH/km


def test_gonen_5_9_reactance_and_rise_of_resistance():
    inner = (0.681 / 2 + 0.345) * INCH
    outer = inner + 0.105 * INCH
    assert find_sheath_reactance(60.0, 2.0 * outer, inner + outer) * MILE == pytest.approx(0.09245, rel=PRINTED)
    assert 0.190 * find_circulating_loss(1.2905, 0.09245, 0.190) == pytest.approx(0.00659, rel=PRINTED)


def test_a_sheath_without_resistance_takes_no_loss_and_one_of_much_none_either():
    reactance = find_sheath_reactance(50.0, 0.06, 0.05)
    assert find_circulating_loss(1e-12, reactance, 1.0) == pytest.approx(0.0, abs=1e-11)
    assert find_circulating_loss(1e6, reactance, 1.0) == pytest.approx(reactance**2 / 1e6, rel=1e-6)
    assert reactance == pytest.approx(2.0 * pi * 50.0 * 2e-7 * 0.8754687, rel=1e-6)             # ln(2 * 0.06/0.05)
