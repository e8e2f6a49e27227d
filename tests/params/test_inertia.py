"""Inertia, stiffness and times against values worked by hand and text-book examples."""

from math import pi

import pytest

from sim.params import inertia

PRINTED = 1e-3      # values worked by hand to four digits


def test_pump_inertia():
    """1000 kW at 1500 rpm: P/N^3 = 2.963e-7, ln -15.0319, times 0.9556 -14.3645, e^ 5.775e-7, by hand: 8.66."""
    value, basis = inertia.estimate_pump_inertia(1e6, 1500.0 * pi / 30.0)
    assert value == pytest.approx(8.66, rel=2 * PRINTED) and "from memory" in basis


def test_pump_inertia_falls_with_speed():
    """Twice the speed at the same power: 2^(-3 * 0.9556) = 0.1371 times."""
    slow, fast = (inertia.estimate_pump_inertia(2e6, speed).value for speed in (150.0, 300.0))
    assert fast / slow == pytest.approx(0.1371, rel=PRINTED)


def test_compressor_inertia_holds_half_a_second_of_energy():
    """6 MW at 1000 rad/s: 0.5 s * 6 MW = 3 MJ = J w^2/2, so J = 6 kg m2."""
    value, basis = inertia.estimate_compressor_inertia(6e6, 1000.0)
    assert value == pytest.approx(6.0) and "common practice" in basis
    assert inertia.kinetic_constant(value, 1000.0, 6e6) == pytest.approx(0.5)


def test_kinetic_constant_of_a_text_book_motor():
    """37.5 kW, 500 rpm, 20 kg m2, mean start torque 1.25 times full load against full load: 2 H/T is 5.85 s.

    J. B. Gupta, *Utilisation of Electric Power and Electric Traction* (electric drives), Ex. 22.
    """
    h = inertia.kinetic_constant(20.0, 500.0 * pi / 30.0, 37.5e3)
    assert 2.0 * h / 0.25 == pytest.approx(5.85, rel=PRINTED)


def test_solid_shaft():
    """1 m of 100 mm steel: pi/32 * 1e-4 m4 = 9.8175e-6 m4, times 80 GPa 785.4 kN m/rad."""
    assert inertia.torsional_stiffness(1.0, 0.1) == pytest.approx(785.4e3, rel=PRINTED)


def test_natural_frequency_of_two_masses():
    """1 MN m/rad between 50 and 50 kg m2: sqrt(1e6 * 0.04) = 200 rad/s = 31.83 Hz, by hand."""
    assert inertia.natural_frequency(1e6, 50.0, 50.0) == pytest.approx(31.83, rel=PRINTED)


def test_heavy_second_mass_is_a_clamped_end():
    assert inertia.natural_frequency(1e4, 25.0, 1e12) == pytest.approx(20.0 / (2.0 * pi))


def test_damping_lets_the_twist_decay_as_the_ratio_says():
    """Twist of two masses: J' x'' + c x' + k x = 0 with J' the reduced inertia, so z = c / (2 sqrt(k J'))."""
    damping = inertia.estimate_torsional_damping(1e6, 60.0, 30.0)
    assert damping.value / (2.0 * (1e6 * 20.0) ** 0.5) == pytest.approx(0.01) and "common practice" in damping.basis
