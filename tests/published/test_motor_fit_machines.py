"""Published machines and the usual spread of sizes: circuit or nameplate in, the same behaviour out."""

from math import pi, sqrt

import numpy as np
import pytest

from sim.params.motor import circuit as ec
from sim.params.motor import estimates as me
from sim.params.motor.fit import FitError, Nameplate, fit_motor

from .circuits import make_circuit
from .test_four_machines import MACHINES

SOURCE = ("P. C. Krause, O. Wasynczuk, S. D. Sudhoff, Analysis of Electric Machinery, four machines; I. J. Nagrath, "
          "D. P. Kothari, Electric Machines, example 9.6; A. E. Fitzgerald, C. Kingsley, S. D. Umans, Electric "
          "Machinery, example 6.2; K. Srivastava, Electrical Machines, example 5.29; C. I. Hubert, Electric Machines, "
          "examples 5.8, 5.18 and 5.1")
WATTS_PER_HP = 745.7


def read_plate(circuit, supply, frequency, poles, slip, core_loss):
    """Nameplate of a circuit at a slip, with a loss at the terminals, all by the equivalent circuit."""
    power, volts = float(ec.shaft_power(circuit, supply, slip)), supply.voltage
    leak = core_loss / (sqrt(3.0) * volts)
    line = complex(ec.stator_current(circuit, supply, slip)) + leak
    torque = float(ec.air_gap_torque(circuit, supply, slip))
    start = abs(complex(ec.stator_current(circuit, supply, 1.0)) + leak)
    return Nameplate(power, volts, frequency, poles, (1.0 - slip) * supply.synchronous_speed,
                     power / (sqrt(3.0) * volts * line.real), line.real / abs(line), start / abs(line),
                     float(ec.air_gap_torque(circuit, supply, 1.0)) / torque,
                     ec.breakdown(circuit, supply).torque / torque, circuit.stator_resistance_ohm)


def find_deviation(plate, circuit, fitted, supply):
    """Largest difference of the torque curves between 0.1 % slip and standstill. [pu of rated torque]"""
    slips = np.geomspace(1e-3, 1.0, 400)
    torques = [ec.air_gap_torque(each, supply, slips) for each in (circuit, fitted)]
    return np.abs(torques[1] - torques[0]).max() * plate.rated_speed / plate.rated_power


@pytest.mark.parametrize("hp", MACHINES)
def test_single_cage_of_the_four_machines_comes_back(hp):
    """Without locked-rotor data rated point and breakdown torque give back the printed ohms: Xs = Xr there too."""
    volts, _, rs, xs, xm, xr, rr, _ = MACHINES[hp]
    circuit, supply = make_circuit(rs, xs, xm, rr, xr), ec.make_supply(volts, 60.0, 4, 60.0)
    slip = ec.slip_at_power(circuit, supply, hp * WATTS_PER_HP)
    plate = read_plate(circuit, supply, 60.0, 4, slip, 0.01 * hp * WATTS_PER_HP)
    fit = fit_motor(plate._replace(locked_rotor_current=None, locked_rotor_torque=None))
    # the parabola through the top of the torque curve is good to 1e-5 or better
    assert fit.circuit[:5] == pytest.approx((rs, xs, xm, rr, xr), rel=1e-5)
    assert fit.circuit.second_rotor_resistance_ohm is None
    assert fit.core_loss == pytest.approx(0.01 * hp * WATTS_PER_HP, rel=1e-6)


@pytest.mark.parametrize("hp", MACHINES)
def test_double_cage_of_the_four_machines_has_their_torque_curve(hp):
    """With locked-rotor data two cages are fitted; constant rotor resistance is the limit of two equal ones."""
    volts, _, rs, xs, xm, xr, rr, _ = MACHINES[hp]
    circuit, supply = make_circuit(rs, xs, xm, rr, xr), ec.make_supply(volts, 60.0, 4, 60.0)
    slip = ec.slip_at_power(circuit, supply, hp * WATTS_PER_HP)
    plate = read_plate(circuit, supply, 60.0, 4, slip, 0.01 * hp * WATTS_PER_HP)
    fit = fit_motor(plate)
    # on the limit of the physical range the exact solution is approached by least squares: 0.1 % on a figure
    assert fit.worst_error_pct < 0.1
    assert find_deviation(plate, circuit, fit.circuit, supply) < 1e-3 * plate.breakdown_torque


@pytest.mark.parametrize("volts, frequency, poles, ohms, slip", [
    (400.0, 50.0, 4, (0.3, 0.6, 35.0, 0.25, 0.6), 1.0 / 30.0),
    (220.0, 60.0, 6, (0.294, 0.503, 13.25, 0.144, 0.209), 0.02),
], ids=["Nagrath 9.6", "Fitzgerald 6.2"])
@pytest.mark.parametrize("standstill", [True, False], ids=["double cage", "single cage"])
def test_textbook_machines(volts, frequency, poles, ohms, slip, standstill):
    """Stator and rotor leakages differ in the second one: their split is not seen at the terminals."""
    circuit, supply = make_circuit(*ohms), ec.make_supply(volts, frequency, poles, frequency)
    plate = read_plate(circuit, supply, frequency, poles, slip, 0.0)
    core = 0.05 * plate.rated_power         # about the rotational loss both examples state
    plate = read_plate(circuit, supply, frequency, poles, slip, core)
    if not standstill:
        plate = plate._replace(locked_rotor_current=None, locked_rotor_torque=None)
    fit = fit_motor(plate)
    # exact or, on the limit of equal cages, by least squares
    assert fit.worst_error_pct < 0.5
    assert find_deviation(plate, circuit, fit.circuit, supply) < 0.01 * plate.breakdown_torque


def test_textbook_double_cage():
    """Srivastava 5.29: 440 V per phase, stator 0.2 + j2, inner 0.5 + j5, outer 2.5 + j1 ohm, run at 5 % slip.

    The example has no magnetising branch; 60 ohm, 30 times the stator's leakage, is added (common practice).
    """
    circuit = make_circuit(0.2, 2.0, 60.0, 0.5, 5.0, second=(2.5, 1.0))
    supply = ec.make_supply(440.0 * np.sqrt(3.0), 50.0, 4, 50.0)
    plate = read_plate(circuit, supply, 50.0, 4, 0.05, 500.0)
    fit = fit_motor(plate)
    assert fit.worst_error_pct < 0.5
    assert find_deviation(plate, circuit, fit.circuit, supply) < 0.1


def make_code_letter_plate(rpm):
    """Hubert 5.8 and 5.18: 125 hp, six poles, 460 V, 60 Hz, code H at 6.7 kVA/hp, 125 % at standstill.

    Efficiency and power factor: common practice.
    """
    watts, efficiency, factor = 125 * WATTS_PER_HP, 0.93, 0.86
    current = 6.7e3 * 125 / (watts / (efficiency * factor))
    return Nameplate(watts, 460.0, 60.0, 6, rpm * pi / 30.0, efficiency, factor, current, 1.25)


def test_code_letter_machine():
    """1051 A at standstill as printed; at 1141 rpm 719 lb ft, scaled to 1185 rpm (common practice for 125 hp)."""
    fit = fit_motor(make_code_letter_plate(1185.0))
    assert fit.worst_error_pct < 0.1
    start = ec.locked_rotor(fit.circuit, ec.make_supply(460.0, 60.0, 6, 60.0))
    # printed to three digits: 0.5 in 719; the loss at the terminals adds less than 0.3 % to the current
    assert start.torque / 1.355818 == pytest.approx(719.0 * 1141.0 / 1185.0, rel=1e-3)
    assert start.current == pytest.approx(1051.0, rel=3e-3)


def test_speed_of_the_code_letter_machine_contradicts_its_efficiency():
    """1141 rpm loses 5.2 % of the power in the rotor; an efficiency of 0.93 leaves 7.5 % for everything, which is
    possible, but a rotor of that resistance has far more than 125 % torque at 6.7 kVA/hp."""
    with pytest.raises(FitError, match="locked-rotor torque is too low"):
        fit_motor(make_code_letter_plate(1141.0))


def make_design_c_plate(rpm, current, saturation):
    """Hubert 5.1: design C of 10 hp has 225 % at standstill and 190 % breakdown; the rest is common practice."""
    return Nameplate(10 * WATTS_PER_HP, 460.0, 60.0, 4, rpm * pi / 30.0, 0.87, 0.83, current, 2.25, 1.90,
                     locked_rotor_saturation=saturation)


@pytest.mark.parametrize("rpm, current, saturation", [(1750.0, 5.5, 0.7), (1750.0, 5.5, 0.6), (1750.0, 6.0, 0.6),
                                                      (1760.0, 5.5, 0.8), (1760.0, 5.5, 0.7), (1760.0, 6.0, 0.6)])
def test_design_c(rpm, current, saturation):
    """The torque dips between standstill and breakdown, as design C does.

    The example's pull-up torque, 165 %, is no check: it goes from 1.1 to 1.8 with speed, current and saturation, which
    the example does not state.
    """
    plate = make_design_c_plate(rpm, current, saturation)
    fit, supply = fit_motor(plate), ec.make_supply(460.0, 60.0, 4, 60.0)
    assert fit.worst_error_pct < 0.1
    least = ec.pull_up(fit.circuit, supply).torque * plate.rated_speed / plate.rated_power
    assert 1.0 < least < plate.breakdown_torque


def test_design_c_without_saturation_at_usual_current_is_refused():
    """Without saturation no two cages have 225 % and 190 % at 6 times rated current and these speeds."""
    for rpm in (1750.0, 1760.0):
        with pytest.raises(FitError, match="Nearest possible"):
            fit_motor(make_design_c_plate(rpm, 6.0, 1.0))


@pytest.mark.parametrize("megawatts", [0.1, 0.3, 1.0, 2.3, 6.0, 10.0, 15.0])
@pytest.mark.parametrize("poles", [2, 4, 6, 8])
def test_usual_machines_from_power_and_poles_alone(megawatts, poles):
    """Common practice: everything estimated, as in a concept study."""
    power = 1e6 * megawatts
    efficiency, factor = me.estimate_efficiency(power).value, me.estimate_power_factor(power, poles).value
    slip = me.estimate_rated_slip(power, efficiency).value
    plate = Nameplate(power, 6600.0, 50.0, poles, 200.0 * pi / poles * (1.0 - slip), efficiency, factor,
                      me.estimate_locked_rotor_current().value, me.estimate_locked_rotor_torque().value,
                      me.estimate_breakdown_torque().value)
    fit = fit_motor(plate)
    # the medium-voltage torque of 0.75 is low for the slip of machines below 300 kW: a compromise there
    assert fit.worst_error_pct < (0.5 if megawatts >= 1.0 else 6.0)
    supply = ec.make_supply(6600.0, 50.0, poles, 50.0)
    # 0.1 to 0.35: offshore training texts give 0.2 to 0.3 at start, large machines lie lower
    assert 0.1 < ec.locked_rotor(fit.circuit, supply).power_factor < 0.35
    # no-load current of 20 to 60 % of rated (common practice)
    rated = power / (efficiency * factor * sqrt(3.0) * 6600.0)
    assert 0.15 < abs(ec.stator_current(fit.circuit, supply, 0.0)) / rated < 0.6
