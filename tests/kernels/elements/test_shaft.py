"""Shafts: a closed-form oscillation of two masses, sticking, breakaway, and stages against brentq and NumPy."""

import numpy as np
import pytest
from scipy.optimize import brentq

from sim.kernels.columns import (
    LOAD_BREAKAWAY,
    LOAD_COLUMNS,
    LOAD_COMPRESSOR,
    LOAD_CONSTANT,
    LOAD_DUTY,
    LOAD_KIND,
    LOAD_NONE,
    LOAD_SPEED,
    SHAFT_FREED,
    SHAFT_LOCKED,
    SHAFT_SPEED,
    SHAFT_STATES,
    SHAFT_TORQUE,
    SHAFT_TWIST,
)
from sim.kernels.elements import machine, shaft
from sim.network.tables import Machines

pytestmark = pytest.mark.usefixtures("plain_python")

J1, J2, STIFF = 8.0, 20.0, 5e5
NATURAL = np.sqrt(STIFF * (1.0 / J1 + 1.0 / J2))        # of free masses, 296 rad/s


def make_machines(damping=0.0, inertia=J2, kind=LOAD_NONE, duty=1000.0, breakaway=0.0, constant=0.0):
    load = np.zeros((1, LOAD_COLUMNS))
    load[0, [LOAD_DUTY, LOAD_SPEED, LOAD_KIND, LOAD_BREAKAWAY, LOAD_CONSTANT]] = duty, 150.0, kind, breakaway, constant
    one, empty = np.ones(1), np.zeros(0)
    return Machines(np.zeros(1, np.int64), np.ones((1, 3, 3)), np.ones((1, 3)), one, np.ones((1, 3)), one, one, one,
                    J1 * one, np.array([[inertia, STIFF, damping]]), np.zeros(1, np.int64), load,
                    np.zeros(2, np.int64), empty, empty)


def make_state(fast=0.0, slow=0.0, twist=0.0, locked=0.0):
    state = np.zeros((1, SHAFT_STATES))
    state[0, [SHAFT_SPEED, SHAFT_TWIST, SHAFT_LOCKED, SHAFT_FREED]] = slow, twist, locked, -1.0
    return np.array([fast]), np.zeros(1), state


def swing(machines, state, h, steps, torque=0.0):
    """Times, both speeds and the twist of a train under a constant air-gap torque."""
    speed, acceleration, store = state
    rows = []
    for k in range(steps):
        shaft.advance_train(machines, 0, 1.0, torque * h / J1, torque, (k + 1) * h, h, speed, acceleration, store)
        rows.append(((k + 1) * h, speed[0], store[0, SHAFT_SPEED], store[0, SHAFT_TWIST]))
    return np.array(rows).T


def test_two_free_masses_swing_against_each_other():
    """Twist of a free train: cos(w t) with w^2 = k (1/J1 + 1/J2); the momentum stays.

    The implicit midpoint rule turns by 2 atan(w h/2) a step, (w h)^2/12 less than w h.
    """
    h, twist = 1e-4, 0.01
    t, fast, slow, found = swing(make_machines(), make_state(10.0, 10.0, twist), h, 2000)
    turn = 2.0 * np.arctan(0.5 * NATURAL * h) / h
    assert turn == pytest.approx(NATURAL, rel=(NATURAL * h) ** 2 / 11.0)
    assert found == pytest.approx(twist * np.cos(turn * t), abs=1e-9 * twist)
    assert J1 * fast + J2 * slow == pytest.approx(np.full_like(t, 10.0 * (J1 + J2)), rel=1e-12)
    energy = 0.5 * (J1 * fast**2 + J2 * slow**2 + STIFF * found**2)
    assert energy == pytest.approx(np.full_like(t, energy[0]), rel=1e-12)


def test_damping_of_the_shaft():
    """Decrement c (1/J1 + 1/J2)/2 of the free oscillation; halving the step quarters the error."""
    damping, span = 60.0, 0.2
    rate = 0.5 * damping * (1.0 / J1 + 1.0 / J2)
    w = np.sqrt(NATURAL**2 - rate**2)
    errors = []
    for h in (1e-4, 5e-5):
        t, _, _, found = swing(make_machines(damping), make_state(twist=0.01), h, round(span / h))
        exact = 0.01 * np.exp(-rate * t) * (np.cos(w * t) + rate / w * np.sin(w * t))
        errors.append(np.abs(found - exact).max())
    assert errors[0] < 3e-2 * 0.01
    assert errors[0] / errors[1] == pytest.approx(4.0, rel=0.05)


def test_a_constant_torque_accelerates_both_masses_and_twists_the_shaft():
    """From rest: mean twist T J2/((J1 + J2) k), swung about from nothing to twice of it."""
    torque, h = 4000.0, 2e-5
    t, fast, slow, twist = swing(make_machines(), make_state(), h, 10000, torque)
    mean = torque * J2 / ((J1 + J2) * STIFF)
    turn = 2.0 * np.arctan(0.5 * NATURAL * h) / h
    assert J1 * fast[-1] + J2 * slow[-1] == pytest.approx(torque * t[-1], rel=1e-10)
    assert twist == pytest.approx(mean * (1.0 - np.cos(turn * t)), abs=1e-8 * mean)


def test_a_driven_machine_that_sticks_lets_the_motor_swing_alone():
    """Against a held end the motor swings with sqrt(k/J1), and the shaft's torque is what breaks the other free."""
    torque, h = 900.0, 1e-5
    held = make_machines(kind=LOAD_COMPRESSOR, duty=1000.0, breakaway=0.1, constant=2.0)
    speed, _, store = state = make_state(locked=1.0)
    w = np.sqrt(STIFF / J1)
    t, _, slow, twist = swing(held, state, h, 400, torque)
    assert twist == pytest.approx(torque / STIFF * (1.0 - np.cos(w * t)), abs=1e-4 * torque / STIFF)
    assert not slow.any() and store[0, SHAFT_LOCKED] == 1.0       # at most 1800 Nm of 2000
    torque = 1100.0                                               # up to 2200: free where it passes 2000
    state = make_state(locked=1.0)
    swing(held, state, h, 4000, torque)
    expected = np.arccos(1.0 - 2000.0 / torque) / w
    assert state[2][0, SHAFT_FREED] == pytest.approx(expected, abs=2.0 * h)
    assert state[2][0, SHAFT_TORQUE] == pytest.approx(2000.0, rel=1e-3)


@pytest.mark.parametrize("fast, slow_e, old", [(100.0, 80.0, 80.0), (3.0, 0.5, 0.2)])
def test_stage_of_the_second_mass(fast, slow_e, old):
    """slow = e + d (k twist + c (fast - slow) - load(slow))/J2, by brentq."""
    machines, d, twist_e = make_machines(40.0, kind=LOAD_COMPRESSOR, constant=0.2), 2e-3, 1e-3
    data = machines.load[0]

    def gap(slow):
        carried = STIFF * (twist_e + d * (fast - slow)) + 40.0 * (fast - slow)
        return slow - slow_e - d / J2 * (carried - machine.running_torque(slow, 1.0, data, 0, 0, None, None))

    expected = brentq(gap, -1e3, 1e3, xtol=1e-13)
    slow, twist, torque = shaft.train_stage(machines, 0, 1.0, False, d, fast, slow_e, twist_e, old)
    assert slow == pytest.approx(expected, rel=1e-9)
    assert twist == pytest.approx(twist_e + d * (fast - expected), rel=1e-9)
    assert torque == pytest.approx(STIFF * twist + 40.0 * (fast - slow))


def test_a_held_second_mass_has_no_speed_in_a_stage():
    slow, twist, _ = shaft.train_stage(make_machines(), 0, 1.0, True, 1e-3, 20.0, 5.0, 0.0, 5.0)
    assert (slow, twist) == (0.0, pytest.approx(0.02))


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_a_stiff_shaft_leaves_standstill_beyond_its_threshold(sign):
    """Constant part 0.5, breakaway 0.2: 500 Nm hold it, either way; the rest accelerates."""
    machines = make_machines(inertia=0.0, kind=LOAD_COMPRESSOR, breakaway=0.2, constant=0.5)
    for torque, moves in ((499.0, False), (501.0, True)):
        speed, acceleration, store = make_state(locked=1.0)
        shaft.advance_shaft(machines, 0, 1.0, 0.0, sign * torque, 0.7, speed, acceleration, store)
        assert store[0, SHAFT_LOCKED] == (0.0 if moves else 1.0)
        assert store[0, SHAFT_FREED] == (0.7 if moves else -1.0)
        assert store[0, SHAFT_TORQUE] == torque
        assert acceleration[0] == pytest.approx(sign * 1.0 / J1 if moves else 0.0)


def test_a_stiff_shaft_that_turns_back_sticks_unless_it_is_driven():
    machines = make_machines(inertia=0.0, kind=LOAD_COMPRESSOR, constant=0.5)
    for torque, sticks in ((-400.0, True), (-600.0, False)):
        speed, acceleration, store = make_state(fast=0.01)
        shaft.advance_shaft(machines, 0, 1.0, -0.02, torque, 1.0, speed, acceleration, store)
        assert store[0, SHAFT_LOCKED] == (1.0 if sticks else 0.0)
        assert speed[0] == pytest.approx(0.0 if sticks else -0.01)
        # backwards the load helps against the torque: -600 + 500 accelerates
        assert acceleration[0] == pytest.approx(0.0 if sticks else -100.0 / J1, rel=1e-3)
