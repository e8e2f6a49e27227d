"""Drives in a stage of the waveform engine: control, pulses, link and front end at extrapolated currents.

A drive sees its output current along its own voltage and the supply of its front end turning with the rated frequency:
both are slow there, so that a straight line through two points carries them over a step.
"""

import numpy as np

from sim.kernels.columns import (
    FRONT_STEPS,
    FRONT_W,
    LINK_FARADS,
    LINK_LOSS,
    LINK_VOLTS,
    PULSE_LEVELS,
    X_ANGLE,
    X_ENERGY,
)
from sim.kernels.control.drive import drive_stage, drive_voltage, output_hz
from sim.kernels.control.front import front_stage
from sim.kernels.control.pulses import bridge_average
from sim.kernels.jit import inlined


@inlined
def drive_controls(sources, state, a, k, c_share, t, h, d, change, scratch, drive, emf, common, front):
    """Stage k of every drive's control, link and front end at extrapolated currents.

    Fills `drive`, change[k] and the voltages `emf` and `common` (zero sequence) of outputs and `front` of front ends;
    returns what the drives with a link lose. [W]  Pulses enter as their average over the whole step, from t.
    """
    lost = 0.0
    for l in range(state.drive.shape[0]):
        data, on, linked = sources.data[l], state.drive_on[l] == 1, sources.data[l, LINK_FARADS] > 0.0
        front[l] = 0.0j
        if k == 0:
            emf[l], common[l] = 0.0j, 0.0
        if not on and not linked:
            continue
        e = scratch[l]
        for w in range(e.size):
            e[w] = state.drive[l, w]
            for j in range(k):
                e[w] += a[k, j] / a[k, k] * change[j, l, w]
            drive[l, w] = e[w]
        amps = state.drive_amps[l, 0] + c_share * (state.drive_amps[l, 0] - state.drive_amps[l, 1])
        volts = 0.0
        if on:
            drive_stage(d, e, amps, state.target_hz[l], 0.0, data, drive[l])
            volts = drive_voltage(drive[l], data)
            if sources.pulses[l, PULSE_LEVELS] == 0.0:
                emf[l] = volts * np.exp(1j * drive[l, X_ANGLE])
            elif k == 0:
                emf[l], common[l] = pulse_voltage(sources.pulses[l], data, state.drive[l], state.drive_amps[l, 0], t, h)
        if linked:
            step = np.exp(1j * data[FRONT_W] * h)
            turn = np.exp(1j * data[FRONT_W] * c_share * h)
            v = turn * (state.front[l, 0, 0] + c_share * (state.front[l, 0, 0] - step * state.front[l, 1, 0]))
            i = turn * (state.front[l, 0, 1] + c_share * (state.front[l, 0, 1] - step * state.front[l, 1, 1]))
            loss = data[LINK_LOSS] if on else 0.0
            out = np.sqrt(3.0) * amps * np.exp(1j * drive[l, X_ANGLE])
            front[l], more = front_stage(d, e, v, i, emf[l].real * out.real + emf[l].imag * out.imag, loss, 0.0,
                                         data[FRONT_STEPS], data, drive[l])
            lost += more
        for w in range(e.size):
            change[k, l, w] = drive[l, w] - e[w]
    return lost


@inlined
def pulse_voltage(row, data, x, along, t, h):
    """Average of a drive's pulses over a step: space vector and zero sequence. [V]"""
    direct = np.sqrt(2.0 * max(x[X_ENERGY], 0.0) / data[LINK_FARADS]) if data[LINK_FARADS] > 0.0 else data[LINK_VOLTS]
    w = 2.0 * np.pi * output_hz(x, data)
    return bridge_average(row, drive_voltage(x, data), x[X_ANGLE], w, max(direct, 1e-3 * data[LINK_VOLTS]),
                          along * np.exp(1j * x[X_ANGLE]), t, h)


@inlined
def exchanged_power(sources, push, x, n_nodes):
    """What drives with a link deliver less what their front ends take: it comes from the link, not from outside. [W]"""
    power = 0.0
    for s in range(sources.drive.size):
        l = sources.drive[s]
        if l >= 0 and sources.front[l] >= 0:
            for b in (sources.link[s], sources.front[l]):
                power += push[b].real * x[0, n_nodes + b] + push[b].imag * x[1, n_nodes + b]
    return power


@inlined
def follow_drives(tables, state, drive, x):
    """Take over the drives' states at the end of a step, and what they measure there."""
    sources, n_nodes = tables.sources, tables.nodes.c.shape[1]
    for s in range(sources.drive.size):
        l = sources.drive[s]
        if l < 0:
            continue
        b, linked = n_nodes + sources.link[s], sources.data[l, LINK_FARADS] > 0.0
        if state.drive_on[l] == 1 or linked:
            for w in range(drive.shape[1]):
                state.drive[l, w] = drive[l, w]
        state.drive_amps[l, 1] = state.drive_amps[l, 0]
        state.drive_amps[l, 0] = complex(x[0, b], x[1, b]) * np.exp(-1j * state.drive[l, X_ANGLE]) / np.sqrt(3.0)
        if linked:
            n, b = sources.front_node[l], n_nodes + sources.front[l]
            for k in range(2):
                state.front[l, 1, k] = state.front[l, 0, k]
            state.front[l, 0, 0], state.front[l, 0, 1] = complex(x[0, n], x[1, n]), complex(x[0, b], x[1, b])
