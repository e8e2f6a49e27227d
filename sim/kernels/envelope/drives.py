"""Drives in a stage of the envelope engine: voltages at trial currents, and how far these are from what follows."""

import numpy as np

from sim.kernels.columns import (
    DRIVE_SCALARS,
    DRIVE_STATES,
    LINK_FARADS,
    LINK_LOSS,
    S_FRONT,
    S_FRONT_Q,
    S_OUT,
    S_OUT_Q,
    S_SUPPLY,
    S_SUPPLY_Q,
    X_ANGLE,
)
from sim.kernels.control.drive import drive_stage, drive_voltage
from sim.kernels.control.front import front_stage
from sim.kernels.envelope.linear import link_push, row_times
from sim.kernels.jit import inner


@inner
def drive_push(sources, state, s, w, d, e_r, scalars, r, push):
    """Voltages of drive source s and of its front end; returns what a drive with a link loses. [W]"""
    l, lost, volts = sources.drive[s], 0.0, 0.0
    data, frame_w = sources.data[l], w[sources.island[s]]
    lo = r.size - DRIVE_STATES * (state.drive_on.size - l)
    e, x = e_r[lo:lo + DRIVE_STATES], r[lo:lo + DRIVE_STATES]
    for k in range(DRIVE_STATES):
        x[k] = e[k]
    along = 0.0j
    if state.drive_on[l] == 1:
        for _ in range(2):      # the second pass sees the current along the angle that the first found
            along = complex(scalars[S_OUT], scalars[S_OUT_Q]) * np.exp(-1j * x[X_ANGLE]) / np.sqrt(3.0)
            drive_stage(d, e, along, state.target_hz[l], frame_w, data, x)
        volts = drive_voltage(x, data)
        push[sources.link[s]] = volts * np.exp(1j * x[X_ANGLE])
    if data[LINK_FARADS] > 0.0:
        loss = data[LINK_LOSS] if state.drive_on[l] == 1 else 0.0
        for k in range(2):          # the second pass sees the ceiling that the link leaves
            if k == 1 and state.drive_on[l] == 1:
                volts = drive_voltage(x, data)
                push[sources.link[s]] = volts * np.exp(1j * x[X_ANGLE])
            push[sources.front[l]], lost = front_stage(
                d, e, complex(scalars[S_SUPPLY], scalars[S_SUPPLY_Q]), complex(scalars[S_FRONT], scalars[S_FRONT_Q]),
                np.sqrt(3.0) * volts * along.real, loss, w[sources.front_island[l]], 0.0, data, x)
    return lost


@inner
def link_current(links, linear, d, b, e, n_nodes, push, rhs):
    """Current of a source's link in a stage whose junction is solved. [A]"""
    i = link_push(links, linear, d, b, e, n_nodes) + push[b]
    return linear.link_y[b] * (i + links.wt[b] * row_times(linear.z, links.end[b], rhs))


@inner
def drive_residuals(tables, state, linear, d, stage, first):
    """How far the currents and voltages that the drives measure are from those they were taken for."""
    sources, links, n_nodes = tables.sources, tables.links, stage.rhs.size
    for s in range(sources.drive.size):
        l = sources.drive[s]
        if l < 0:
            continue
        at = first + DRIVE_SCALARS * l
        for k in range(DRIVE_SCALARS):
            stage.residual[at + k] = stage.trial[at + k]
        i = link_current(links, linear, d, sources.link[s], stage.e, n_nodes, stage.push, stage.rhs)
        stage.residual[at + S_OUT] -= i.real
        stage.residual[at + S_OUT_Q] -= i.imag
        if sources.front[l] >= 0:
            v = row_times(linear.z, sources.front_node[l], stage.rhs)
            i = link_current(links, linear, d, sources.front[l], stage.e, n_nodes, stage.push, stage.rhs)
            stage.residual[at + S_SUPPLY] -= v.real
            stage.residual[at + S_SUPPLY_Q] -= v.imag
            stage.residual[at + S_FRONT] -= i.real
            stage.residual[at + S_FRONT_Q] -= i.imag
