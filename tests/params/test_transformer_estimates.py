"""Transformer estimates against the table of the standard, common practice and a read example."""

import pytest

from sim.params import transformer_estimates as estimates


@pytest.mark.parametrize("mva, pct", [(0.5, 4), (0.63, 4), (1.0, 5), (2.0, 6), (2.5, 6), (3.75, 7), (6.3, 7), (15, 8),
                                      (25, 8), (30, 10), (60, 11), (80, 12.5), (200, 12.5)])
def test_impedance(mva, pct):
    """IEC 60076-5, least impedances by rated power (from memory, to be checked)."""
    value, basis = estimates.estimate_impedance(mva * 1e6)
    assert value == pytest.approx(pct / 100.0) and "IEC 60076-5" in basis


@pytest.mark.parametrize("mva, low, high", [(0.5, 5.0, 7.0), (1, 8, 8), (5, 12, 15), (10, 12, 15), (20, 20, 20)])
def test_x_over_r(mva, low, high):
    """8 at 1 MVA, 12 to 15 at 5 to 10 MVA, 20 at 20 MVA (common practice); 0.5 MVA: 5.7, see the next test."""
    assert low <= estimates.estimate_x_over_r(mva * 1e6).value <= high


def test_load_loss_of_a_small_transformer():
    """500 kVA, 5.73 % impedance, 0.997 % resistance (a test report quoted in a thesis): 4985 W, X/R 5.66 by hand."""
    assert estimates.resistance_from_load_loss(4985.0, 500e3) == pytest.approx(0.00997)
    assert estimates.x_over_r_from_load_loss(4985.0, 500e3, 0.0573) == pytest.approx(5.66, rel=1e-3)


def test_load_loss_of_three_four_five():
    """5 % impedance with 3 % resistance leaves 4 % reactance."""
    assert estimates.x_over_r_from_load_loss(30e3, 1e6, 0.05) == pytest.approx(4.0 / 3.0)


@pytest.mark.parametrize("loss", [0.0, 80e3, 90e3])
def test_load_loss_that_leaves_no_reactance(loss):
    with pytest.raises(ValueError, match="0.08 pu"):
        estimates.x_over_r_from_load_loss(loss, 1e6, 0.08)


def test_between_points_the_logarithm_counts():
    """3.1623 MVA lies half-way between 1 and 10 MVA: 0.75 % current, 25 % air-core reactance."""
    assert estimates.estimate_no_load_current(10**6.5).value == pytest.approx(0.0075)
    assert estimates.estimate_air_core_reactance(10**6.5).value == pytest.approx(0.25)


@pytest.mark.parametrize("estimate, low, high", [
    (estimates.estimate_no_load_current, 0.005, 0.01), (estimates.estimate_no_load_loss, 0.0005, 0.002),
    (estimates.estimate_air_core_reactance, 0.2, 0.4), (estimates.estimate_winding_capacitance, 1e-9, 10e-9)])
@pytest.mark.parametrize("mva", [1.0, 4.0, 10.0])
def test_usual_ranges(estimate, low, high, mva):
    """Ranges for subsea step-up and step-down units: common practice."""
    value, basis = estimate(mva * 1e6)
    assert low <= value <= high and "common practice" in basis


@pytest.mark.parametrize("estimate", [estimates.estimate_no_load_current, estimates.estimate_no_load_loss,
                                      estimates.estimate_x_over_r, estimates.estimate_air_core_reactance,
                                      estimates.estimate_winding_capacitance])
def test_no_jump_and_flat_beyond_the_points(estimate):
    powers = [10**(4.5 + 0.01 * k) for k in range(501)]
    values = [estimate(power).value for power in powers]
    steps = [after - before for before, after in zip(values, values[1:])]
    assert min(steps) >= 0.0 or max(steps) <= 0.0
    assert max(map(abs, steps)) < 0.05 * (max(values) - min(values))    # no decade is crossed in 0.2 of it
    assert values[0] == estimate(1.0).value and values[-1] == estimate(1e12).value


@pytest.mark.parametrize("mva", [0.05, 1.0, 10.0, 100.0, 500.0])
def test_core_loss_is_a_part_of_the_no_load_current(mva):
    assert estimates.estimate_no_load_loss(mva * 1e6).value < estimates.estimate_no_load_current(mva * 1e6).value


@pytest.mark.parametrize("kv, nf", [(6.6, 0.1), (12, 0.1), (36, 0.2), (145, 0.4), (245, 0.4)])
def test_bushing(kv, nf):
    assert estimates.estimate_bushing_capacitance(kv * 1e3).value == pytest.approx(nf * 1e-9)
