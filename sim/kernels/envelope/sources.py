"""Sources in a stage of the envelope engine: voltages at trial scalars, and how far these are from what follows.

A kind of source is a branch of `push_sources`.
"""

import numpy as np

from sim.kernels.columns import (
    DRIVE_RATED,
    DRIVE_SCALARS,
    DRIVE_STATES,
    LINK_FARADS,
    LINK_LOSS,
    LINK_VOLTS,
    PULSE_DEAD,
    S_FRONT,
    S_FRONT_Q,
    S_OUT,
    S_OUT_Q,
    S_SUPPLY,
    S_SUPPLY_Q,
    SOURCE_DRIVE,
    SOURCE_GRID,
    X_ANGLE,
    X_ENERGY,
)
from sim.kernels.control.drive import drive_stage, drive_voltage
from sim.kernels.control.front import front_stage
from sim.kernels.control.pulses import dead_time_loss
from sim.kernels.envelope.linear import link_push, row_times
from sim.kernels.jit import inner


@inner
def push_sources(layout, sources, drives, state, w, t, elapsed, d, e_r, trial, r, push):
    """Space vectors of all sources in their frames, front ends too; drives take their stage at the trial scalars.

    Returns what the drives with a link lose. [W]
    """
    lost = 0.0
    for s in range(sources.kind.size):
        kind, island = sources.kind[s], sources.island[s]
        if kind == SOURCE_DRIVE:
            lost += push_drive(layout, drives, state, sources.unit[s], w, d, e_r, trial, r, push)
        elif kind == SOURCE_GRID:
            value = 0.0j
            if state.live[s] == 1:
                angle = sources.w[s] * t + state.phase[s] - state.theta[island] - w[island] * elapsed
                value = sources.volts[s] * np.exp(1j * angle)
            push[sources.link[s]] = value
    return lost


@inner
def push_drive(layout, drives, state, l, w, d, e_r, trial, r, push):
    """Voltages of drive l and of its front end; returns what a drive with a link loses. [W]"""
    lost = 0.0
    data, frame_w = drives.data[l], w[drives.island[l]]
    lo, at = layout.drive + DRIVE_STATES * l, layout.seen + DRIVE_SCALARS * l
    e, x, scalars = e_r[lo:lo + DRIVE_STATES], r[lo:lo + DRIVE_STATES], trial[at:at + DRIVE_SCALARS]
    for k in range(DRIVE_STATES):
        x[k] = e[k]
    out = complex(scalars[S_OUT], scalars[S_OUT_Q])
    push[drives.link[l]] = 0.0j
    if state.drive_on[l] == 1:
        for _ in range(2):      # the second pass sees the current along the angle that the first found
            along = out * np.exp(-1j * x[X_ANGLE]) / np.sqrt(3.0)
            drive_stage(d, e, along, state.target_hz[l], frame_w, data, x)
        push[drives.link[l]] = output_voltage(data, drives.pulses, l, x, out)
    if data[LINK_FARADS] > 0.0:
        loss = data[LINK_LOSS] if state.drive_on[l] == 1 else 0.0
        for k in range(2):          # the second pass sees the ceiling that the link leaves
            if k == 1 and state.drive_on[l] == 1:
                push[drives.link[l]] = output_voltage(data, drives.pulses, l, x, out)
            volts = push[drives.link[l]]
            push[drives.front[l]], lost = front_stage(
                d, e, complex(scalars[S_SUPPLY], scalars[S_SUPPLY_Q]), complex(scalars[S_FRONT], scalars[S_FRONT_Q]),
                volts.real * out.real + volts.imag * out.imag, loss, w[drives.front_island[l]], 0.0, data, x)
    return lost


@inner
def output_voltage(data, pulses, l, x, out):
    """Space vector of the voltage of drive l, which runs, at a stage, less what the dead time of its pulses takes. [V]

    out is the output current, in the frame of the drive's angle. [A]
    """
    voltage = drive_voltage(x, data) * np.exp(1j * x[X_ANGLE])
    if pulses[l, PULSE_DEAD] == 0.0:
        return voltage
    direct = np.sqrt(2.0 * max(x[X_ENERGY], 0.0) / data[LINK_FARADS]) if data[LINK_FARADS] > 0.0 else data[LINK_VOLTS]
    return voltage - dead_time_loss(pulses[l], direct, data[DRIVE_RATED], out)


@inner
def link_current(layout, links, linear, d, b, e, push, rhs):
    """Current of a source's link in a stage whose junction is solved. [A]"""
    i = link_push(layout, links, linear, d, b, e) + push[b]
    return linear.link_y[b] * (i + links.wt[b] * row_times(linear.z, links.end[b], rhs))


@inner
def drive_residuals(layout, links, drives, linear, d, stage):
    """How far the currents and voltages that the drives measure are from those they were taken for."""
    for l in range(drives.link.size):
        at = layout.seen + DRIVE_SCALARS * l
        for k in range(DRIVE_SCALARS):
            stage.residual[at + k] = stage.trial[at + k]
        i = link_current(layout, links, linear, d, drives.link[l], stage.e, stage.push, stage.rhs)
        stage.residual[at + S_OUT] -= i.real
        stage.residual[at + S_OUT_Q] -= i.imag
        if drives.front[l] >= 0:
            v = row_times(linear.z, drives.front_node[l], stage.rhs)
            i = link_current(layout, links, linear, d, drives.front[l], stage.e, stage.push, stage.rhs)
            stage.residual[at + S_SUPPLY] -= v.real
            stage.residual[at + S_SUPPLY_Q] -= v.imag
            stage.residual[at + S_FRONT] -= i.real
            stage.residual[at + S_FRONT_Q] -= i.imag
