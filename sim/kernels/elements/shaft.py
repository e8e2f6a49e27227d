"""Motion of the shafts: one stiff mass, or motor and driven machine at both ends of a shaft that twists.

    J1 dw1/dt = T - Ts,   J2 dw2/dt = Ts - TL(w2),   d twist/dt = w1 - w2,   Ts = k twist + c (w1 - w2)

The driven machine sticks at standstill until the torque on it exceeds its breakaway torque; the motor end
of a shaft that twists moves before that.
"""

import numpy as np

from sim.kernels.columns import (
    SHAFT_FREED,
    SHAFT_LOCKED,
    SHAFT_SPEED,
    SHAFT_TORQUE,
    SHAFT_TWIST,
    TRAIN_DAMPING,
    TRAIN_INERTIA,
    TRAIN_STIFFNESS,
)
from sim.kernels.elements.machine import load_of, threshold_of
from sim.kernels.jit import entry


@entry
def train_torque(train, slip, twist):
    """Torque in the shaft at a twist [rad] and a speed of twisting [rad/s]. [N m]"""
    return train[TRAIN_STIFFNESS] * twist + train[TRAIN_DAMPING] * slip


@entry
def load_at(machines, m, factor, speed, torque):
    """Load torque at a speed; at standstill it opposes the torque that acts. [N m]"""
    if speed == 0.0 and torque < 0.0:
        return -load_of(machines, m, factor, 0.0)
    return load_of(machines, m, factor, speed)


@entry
def advance_train(machines, m, factor, gain, torque, t, h, speed, acceleration, shaft):
    """Implicit midpoint step of both masses; `gain` is the air-gap torque's impulse over the motor's inertia.

    The load torque is taken at the middle of the step in a second pass.
    """
    train, state = machines.train[m], shaft[m]
    fast, slow, twist = speed[m], state[SHAFT_SPEED], state[SHAFT_TWIST]
    locked = state[SHAFT_LOCKED] == 1.0
    ease = 0.0 if locked else 1.0 / train[TRAIN_INERTIA]
    give = 0.5 * h * (1.0 / machines.j[m] + ease)
    stiff = train[TRAIN_STIFFNESS] * 0.5 * h + train[TRAIN_DAMPING]
    middle, carried, asked = slow, train[TRAIN_STIFFNESS] * twist, 0.0
    for _ in range(2):
        if not locked:
            asked = load_at(machines, m, factor, middle, carried)
        free = fast - slow + 0.5 * gain + 0.5 * h * ease * asked
        slip = (free - give * train[TRAIN_STIFFNESS] * twist) / (1.0 + give * stiff)
        carried = train[TRAIN_STIFFNESS] * twist + stiff * slip
        middle = slow + 0.5 * h * ease * (carried - asked)
    speed[m] = fast + gain - h * carried / machines.j[m]
    state[SHAFT_TWIST] = twist + h * slip
    state[SHAFT_SPEED] = slow + h * ease * (carried - asked)
    now = train_torque(train, speed[m] - state[SHAFT_SPEED], state[SHAFT_TWIST])
    acceleration[m] = (torque - now) / machines.j[m]
    threshold = threshold_of(machines, m, factor)
    if locked:
        state[SHAFT_TORQUE] = max(state[SHAFT_TORQUE], abs(now))
        if abs(now) > threshold:
            state[SHAFT_LOCKED] = 0.0
            if state[SHAFT_FREED] < 0.0:
                state[SHAFT_FREED] = t
    elif slow * state[SHAFT_SPEED] < 0.0 and abs(now) <= threshold:
        state[SHAFT_SPEED] = 0.0
        state[SHAFT_LOCKED] = 1.0


@entry
def train_stage(machines, m, factor, locked, d, fast, slow_e, twist_e, slow_old):
    """Second mass and twist of an implicit stage at a motor speed: (speed, twist, shaft torque).

    Newton on the speed of the second mass; the slope of the load torque by differences.
    """
    train = machines.train[m]
    stiff = train[TRAIN_STIFFNESS] * d + train[TRAIN_DAMPING]
    slow = 0.0
    if not locked:
        slow = slow_e if slow_e * slow_old > 0.0 else slow_old
        by_j = d / train[TRAIN_INERTIA]
        nudge = 1e-6 * fast + 1e-6
        for _ in range(4):
            carried = train[TRAIN_STIFFNESS] * twist_e + stiff * (fast - slow)
            asked = load_at(machines, m, factor, slow, carried)
            slope = (load_at(machines, m, factor, slow + nudge, carried) - asked) / nudge
            gap = slow - slow_e - by_j * (carried - asked)
            slow -= gap / (1.0 + by_j * (stiff + max(slope, 0.0)))
    twist = twist_e + d * (fast - slow)
    return slow, twist, train_torque(train, fast - slow, twist)


@entry
def advance_shaft(machines, m, factor, gain, torque, t, speed, acceleration, shaft):
    """Speed change of one short step, with stick and release at standstill."""
    threshold = threshold_of(machines, m, factor)
    if shaft[m, SHAFT_LOCKED] == 1.0:
        shaft[m, SHAFT_TORQUE] = max(shaft[m, SHAFT_TORQUE], abs(torque))
        acceleration[m] = 0.0
        if abs(torque) > threshold:
            shaft[m, SHAFT_LOCKED] = 0.0
            if shaft[m, SHAFT_FREED] < 0.0:
                shaft[m, SHAFT_FREED] = t
            acceleration[m] = (torque - np.sign(torque) * threshold) / machines.j[m]
        return
    old = speed[m]
    speed[m] = old + gain
    acceleration[m] = (torque - load_of(machines, m, factor, speed[m])) / machines.j[m]
    if old * speed[m] < 0.0 and abs(torque) <= threshold:
        speed[m] = 0.0
        acceleration[m] = 0.0
        shaft[m, SHAFT_LOCKED] = 1.0
