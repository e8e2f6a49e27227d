"""The supply of a first study against values worked by hand."""

import pytest

from sim.params import supply_estimates as estimates


def test_short_circuit_power_from_current():
    """13.8 kV, 15 kA: 1.7320508 * 13.8 * 15 = 358.53 MVA."""
    assert estimates.power_from_current(15e3, 13.8e3) == pytest.approx(358.53e6, rel=1e-4)     # printed digits


def test_default_holds_the_dip_at_the_host_to_five_per_cent():
    """A start S at power Sk of the same angle leaves Sk/(Sk + S) = 20/21 of the voltage."""
    power, basis = estimates.estimate_short_circuit_power(15e6)
    assert power / (power + 15e6) == pytest.approx(20.0 / 21.0) and "20 times" in basis


def test_start_power():
    """2.5 MW at 0.95 and 0.88 takes 2.990 MVA; 5.5 times that is 16.45 MVA."""
    assert estimates.start_power(2.5e6 / (0.95 * 0.88), 5.5) == pytest.approx(16.45e6, rel=1e-3)   # printed digits


def test_x_over_r():
    assert estimates.estimate_x_over_r() == (10.0, "common practice for a host switchboard")
