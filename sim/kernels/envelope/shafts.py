"""Shafts between the steps of the envelope engine: when one leaves standstill, and when it sticks again."""

import numpy as np

from sim.kernels.columns import SHAFT_FREED, SHAFT_LOCKED, SHAFT_TORQUE, TRAIN_INERTIA, WINDINGS
from sim.kernels.elements.machine import air_gap_torque, stator_current, threshold_of
from sim.kernels.envelope.sampling import held_row, holding_torque
from sim.kernels.jit import inner

RELEASE_BAND = 1e-3         # a shaft is released within this share above its breakaway torque


@inner
def torques(tables, x, out):
    """Air-gap torque of every machine at a point. [N m]"""
    machines = tables.machines
    for m in range(machines.node.size):
        p = tables.layout.flux + WINDINGS * m
        i = stator_current(machines, m, x[p], x[p + 1], x[p + 2])
        out[m] = air_gap_torque(machines.pairs[m], x[p], i)


@inner
def release_share(machines, layout, state, r, torque, old_torque):
    """Share of the step to r at which a locked shaft reaches breakaway, or 1 when none passes it."""
    share = 1.0
    for m in range(machines.node.size):
        if state.shaft[m, SHAFT_LOCKED] == 0.0:
            continue
        threshold = threshold_of(machines, m, state.load_factor[m])
        new = abs(holding_torque(machines, layout, m, r, torque[m]))
        old = abs(holding_torque(machines, layout, m, state.r, old_torque[m]))
        if new > threshold * (1.0 + RELEASE_BAND) + 1e-9 and old <= threshold:
            share = min(share, (threshold * (1.0 + 0.5 * RELEASE_BAND) - old) / (new - old))
    return share


@inner
def stick_and_release(machines, layout, state, torque, old_speed, t):
    """Lock shafts that passed standstill, release those beyond breakaway; True on any change."""
    changed = False
    for m in range(machines.node.size):
        threshold = threshold_of(machines, m, state.load_factor[m])
        holding = holding_torque(machines, layout, m, state.r, torque[m])
        held = held_row(machines, layout, m)
        if state.shaft[m, SHAFT_LOCKED] == 1.0:
            state.shaft[m, SHAFT_TORQUE] = max(state.shaft[m, SHAFT_TORQUE], abs(holding))
            if abs(holding) > threshold:
                state.shaft[m, SHAFT_LOCKED] = 0.0
                inertia = machines.train[m, TRAIN_INERTIA] if held > m else machines.j[m]
                state.slope_r[held] = (holding - np.sign(holding) * threshold) / inertia
                if state.shaft[m, SHAFT_FREED] < 0.0:
                    state.shaft[m, SHAFT_FREED] = t
                changed = True
        elif old_speed[m] * state.r[held] < 0.0:
            changed = True
            if abs(holding) <= threshold:
                state.r[held] = 0.0
                state.slope_r[held] = 0.0
                state.shaft[m, SHAFT_LOCKED] = 1.0
    return changed
