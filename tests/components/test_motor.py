"""Nameplate arithmetic of the motor and the rated slip from its equivalent circuit."""

from math import pi, sqrt

import numpy as np
import pytest
from scipy.optimize import brentq

from sim.components.machines.motor import (
    Motor,
    find_circuit,
    find_defaults,
    find_rated_current,
    find_rated_slip,
    find_shaft_power,
    find_synchronous_rpm,
    find_torque,
)

SINGLE_CAGE = {"stator_resistance_pu": 0.007, "stator_reactance_pu": 0.09, "magnetising_reactance_pu": 3.3,
               "rotor_resistance_pu": 0.01, "rotor_reactance_pu": 0.09}
DOUBLE_CAGE = SINGLE_CAGE | {"second_rotor_resistance_pu": 0.08, "second_rotor_reactance_pu": 0.06}


def make_motor(circuit=SINGLE_CAGE, **values):
    return Motor(**({"rated_kw": 2300.0, "rated_kv": 6.6, "poles": 4, "circuit": dict(circuit)} | values))


def solve_shaft_power(motor, slip):
    """Shaft power by mesh analysis: stator loop and one loop per cage, currents from one linear system."""
    z = find_circuit(motor)
    magnetising = 1j * z["magnetising_reactance_ohm"]
    cages = [(z["rotor_resistance_ohm"], z["rotor_reactance_ohm"])]
    if z["second_rotor_resistance_ohm"] is not None:
        cages.append((z["second_rotor_resistance_ohm"], z["second_rotor_reactance_ohm"]))
    own = [z["stator_resistance_ohm"] + 1j * z["stator_reactance_ohm"]]
    own += [r / slip + 1j * x for r, x in cages]
    loops = np.full((len(own), len(own)), magnetising) + np.diag(own)
    currents = np.linalg.solve(loops, [motor.rated_kv * 1e3 / sqrt(3.0)] + [0.0] * len(cages))
    return sum(3.0 * abs(i) ** 2 * r * (1.0 - slip) / slip for i, (r, _) in zip(currents[1:], cages))


@pytest.mark.parametrize("circuit", [SINGLE_CAGE, DOUBLE_CAGE])
@pytest.mark.parametrize("slip", [0.001, 0.01, 0.1, 1.0])
def test_shaft_power_against_mesh_analysis(circuit, slip):
    motor = make_motor(circuit)
    found = find_shaft_power(find_circuit(motor), 6600.0, slip)
    # both are direct solutions of the same linear equations: rounding only
    assert found == pytest.approx(solve_shaft_power(motor, slip), rel=1e-10, abs=1e-6)


@pytest.mark.parametrize("circuit", [SINGLE_CAGE, DOUBLE_CAGE])
def test_rated_slip_against_a_root_finder(circuit):
    motor = make_motor(circuit)
    root = brentq(lambda slip: solve_shaft_power(motor, slip) - 2.3e6, 1e-4, 0.03, xtol=1e-14)
    assert find_rated_slip(motor) == pytest.approx(root, rel=1e-9)      # bisected down to rounding
    assert find_defaults(motor)["rated_rpm"].value == pytest.approx(1500.0 * (1.0 - root), rel=1e-9)


def test_no_rated_slip_for_a_circuit_that_is_too_weak():
    # the most a circuit can pass is V^2/(2 X) of its leakage, here 1/(2 * 0.99) pu < 0.836 pu
    motor = make_motor(SINGLE_CAGE | {"stator_reactance_pu": 0.9})
    assert find_rated_slip(motor) is None
    rated = find_defaults(motor)["rated_rpm"]
    assert (rated.value, rated.origin) == (0.985 * 1500.0, "default")       # common practice, not the circuit's


@pytest.mark.parametrize("poles, frequency, rpm", [(2, 50.0, 3000.0), (4, 50.0, 1500.0), (6, 60.0, 1200.0),
                                                   (12, 50.0 / 3.0, 500.0 / 3.0)])
def test_synchronous_speed(poles, frequency, rpm):
    # n = 120 f / p, any textbook
    assert find_synchronous_rpm(make_motor(poles=poles, frequency_hz=frequency)) == pytest.approx(rpm)


def test_rated_current_and_torque():
    motor = make_motor(efficiency_pu=0.95, power_factor_pu=0.88)
    assert sqrt(3.0) * 6600.0 * find_rated_current(motor) * 0.95 * 0.88 == pytest.approx(2.3e6)
    assert find_torque(2300.0, 1485.0) * 1485.0 * 2.0 * pi / 60.0 == pytest.approx(2.3e6)


def test_circuit_mixes_units():
    values = {key: value for key, value in SINGLE_CAGE.items() if key != "rotor_resistance_pu"}
    circuit = find_circuit(make_motor(values | {"rotor_resistance_ohm": 0.2}))
    assert circuit["rotor_resistance_ohm"] == 0.2 and circuit["second_rotor_reactance_ohm"] is None
    base = 6600.0**2 * 0.95 * 0.88 / 2.3e6
    assert circuit["magnetising_reactance_ohm"] == pytest.approx(3.3 * base)
