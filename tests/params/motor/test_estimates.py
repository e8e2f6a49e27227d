"""Usual nameplate values against tables, worked examples and the limits of their own physics."""

import subprocess
import sys
from math import sqrt

import pytest
from scipy import constants

from sim.params.motor import estimates as me

WATTS_PER_HP = constants.hp


@pytest.mark.parametrize("letter, kva_per_hp", [
    ("A", 3.15), ("B", 3.55), ("C", 4.0), ("D", 4.5), ("E", 5.0), ("F", 5.6), ("G", 6.3), ("H", 7.1), ("J", 8.0),
    ("K", 9.0), ("L", 10.0), ("M", 11.2), ("N", 12.5), ("P", 14.0), ("R", 16.0), ("S", 18.0), ("T", 20.0), ("U", 22.4),
])
def test_code_letter_gives_its_upper_end(letter, kva_per_hp):
    """NEMA MG 1 code letters, upper ends as a public worked start example lists them; lower case is read too."""
    watts, volts, efficiency, factor = 125 * WATTS_PER_HP, 460.0, 0.93, 0.85
    rated = watts / (efficiency * factor * sqrt(3.0) * volts)
    estimate = me.estimate_current_of_code_letter(letter.lower(), efficiency, factor)
    expected = kva_per_hp * 1e3 * 125 / (sqrt(3.0) * volts)
    assert estimate.value * rated == pytest.approx(expected, rel=1e-12)     # the same product in another order
    assert letter in estimate.basis and "upper end" in estimate.basis


def test_code_letter_bounds_the_average_of_a_worked_example():
    """Hubert, Electric Machines, example 5.18: 125 hp, 460 V, code H draws 1051 A at the range's average, 6.7 kVA/hp.

    The upper end lies 7.1/6.7 above it; printed to a whole ampere.
    """
    efficiency, factor = 0.93, 0.85
    rated = 125 * WATTS_PER_HP / (efficiency * factor * sqrt(3.0) * 460.0)
    upper = me.estimate_current_of_code_letter("H", efficiency, factor).value * rated
    assert upper == pytest.approx(1051.0 * 7.1 / 6.7, abs=1.0)


def test_last_code_letter_says_that_it_is_open_upwards():
    assert "open upwards" in me.estimate_current_of_code_letter("V", 0.9, 0.9).basis


@pytest.mark.parametrize("letter", ["I", "O", "Q", "W", "", "AB"])
def test_other_letters_are_refused(letter):
    with pytest.raises(ValueError, match="allowed are A, B"):
        me.estimate_current_of_code_letter(letter, 0.9, 0.9)


def test_design_torques_of_worked_examples():
    """Hubert, Electric Machines: 125 hp with 125 % at standstill; design C of 10 hp with 225 % and 190 %."""
    assert me.estimate_locked_rotor_torque("B").value == 1.25
    assert me.estimate_locked_rotor_torque("C").value == 2.25
    assert me.estimate_breakdown_torque("C").value == 1.90


def test_medium_voltage_motor_of_usual_design():
    """5.5, 0.75 and 2.2: common practice, inside 4 to 6, 0.7 to 0.8 and the 2.0 that specifications ask for."""
    found = [f().value for f in (me.estimate_locked_rotor_current, me.estimate_locked_rotor_torque,
                                 me.estimate_breakdown_torque)]
    assert found == [5.5, 0.75, 2.2]
    assert "common practice" in me.estimate_breakdown_torque().basis


@pytest.mark.parametrize("design_class", [name for name in me.CLASSES if name])
def test_every_class_says_that_it_is_to_be_checked(design_class):
    for function in (me.estimate_locked_rotor_current, me.estimate_locked_rotor_torque, me.estimate_breakdown_torque):
        estimate = function(design_class)
        assert f"design {design_class} of" in estimate.basis and "to be checked" in estimate.basis
        assert estimate.value > 1.0


def test_large_machine_limits_of_nema_hold():
    """NEMA MG 1 for large machines: at least 60 % at standstill, 175 % breakdown (from memory, to be checked)."""
    assert me.estimate_locked_rotor_torque().value >= 0.60
    assert all(me.estimate_breakdown_torque(name).value >= 1.75 for name in me.CLASSES)


def test_unknown_class_is_refused():
    with pytest.raises(ValueError, match="allowed are A, B, C, D, H, N"):
        me.estimate_breakdown_torque("X")


POWERS = [1e3 * 1.5**k for k in range(26)]      # 1 kW to 25 MW


def test_trends_over_power():
    for function, sign in ((me.estimate_efficiency, 1), (me.estimate_power_factor, 1), (me.estimate_rated_slip, -1),
                           (me.estimate_stator_copper_share, -1)):
        values = [function(power).value for power in POWERS]
        assert all(sign * (after - before) >= 0.0 for before, after in zip(values, values[1:]))
    factors = [me.estimate_power_factor(1e6, poles).value for poles in (2, 4, 6, 8, 10, 12)]
    assert factors == sorted(factors, reverse=True) and 0.78 <= factors[-1] and factors[0] <= 0.92


def test_efficiency_lies_between_the_classes():
    """IEC 60034-30-1, four poles, 50 Hz, classes IE2 and IE3 (from memory, to be checked), half a point around them."""
    for watts, low, high in ((7.5e3, 0.887, 0.904), (37e3, 0.927, 0.939), (110e3, 0.945, 0.954), (500e3, 0.951, 0.960)):
        assert low - 0.005 <= me.estimate_efficiency(watts).value <= high + 0.005


def test_medium_voltage_efficiency_and_power_factor():
    """0.95 and 0.88 for machines of some megawatts (common practice), to the two points such values are good for."""
    assert me.estimate_efficiency(3e6).value == pytest.approx(0.95, abs=0.02)
    assert me.estimate_power_factor(3e6).value == pytest.approx(0.88, abs=0.02)


@pytest.mark.parametrize("efficiency", [None, 0.85, 0.98])
def test_losses_of_rotor_and_stator_stay_below_all_losses(efficiency):
    for power in POWERS:
        known = me.estimate_efficiency(power).value if efficiency is None else efficiency
        slip = me.estimate_rated_slip(power, efficiency).value
        losses = 1.0 / known - 1.0
        rotor = slip / (1.0 - slip)
        assert 0.1 * losses < rotor < 0.3 * losses
        assert rotor + me.estimate_stator_copper_share(power).value * losses < 0.75 * losses


def test_values_beyond_the_table_say_so():
    assert "beyond the range" in me.estimate_efficiency(100.0).basis
    assert "beyond the range" not in me.estimate_efficiency(1e6).basis
    assert me.estimate_efficiency(1e8).value == me.estimate_efficiency(1e7).value


@pytest.mark.parametrize("power", [0.0, -1.0, float("nan")])
def test_power_must_be_positive(power):
    with pytest.raises(ValueError, match="must be above zero"):
        me.estimate_efficiency(power)


def test_inertia_by_hand():
    """NEMA MG 1 14.46 as quoted second-hand: 1000 hp, 4 poles: 0.02 * 4 * 1000^1.25 = 449.9 lb ft2 = 18.96 kg m2."""
    estimate = me.estimate_motor_inertia(1000 * WATTS_PER_HP, 4)
    assert estimate.value == pytest.approx(18.96, abs=0.005)
    assert "to be checked" in estimate.basis


def test_inertia_grows_with_power_and_poles():
    values = [[me.estimate_motor_inertia(power, poles).value for power in (1e5, 1e6, 1e7)] for poles in (2, 4, 6, 8)]
    assert all(row == sorted(row) for row in values)
    assert all(list(column) == sorted(column) for column in zip(*values))


def test_estimates_need_no_arrays():
    code = "import sys, sim.params.motor.estimates; assert not {'numpy', 'scipy'} & set(sys.modules)"
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert ran.returncode == 0, ran.stderr
