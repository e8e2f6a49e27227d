"""Sources in a stage of the waveform engine: grids, and drives with control, pulses, link and front end.

A drive sees its output current along its own voltage, which is slow there, so that a straight line through two points
carries it over a step; its direct voltage likewise.  Front ends and blocked outputs are no part of this: they answer
within the stage (`sim.kernels.waveform.bridges`).  A kind of source is a branch of `push_sources`.
"""

import numpy as np

from sim.kernels.columns import (
    LINK_FARADS,
    LINK_VOLTS,
    MONITOR_DRIVE,
    MONITOR_FRONT,
    NOTHING_TO_TELL,
    PULSE_LEVELS,
    SOURCE_GRID,
    X_ANGLE,
    X_ENERGY,
    X_TOLD,
)
from sim.kernels.control.drive import drive_stage, drive_voltage, find_alarm, output_hz
from sim.kernels.control.front import find_front_alarm, link_volts
from sim.kernels.control.pulses import bridge_average
from sim.kernels.jit import inlined


@inlined
def push_sources(tables, state, a, k, c_share, t, h, d, change, scratch, drive, emf, common, push, push_zero):
    """Stage k of all sources: voltages `push` (space vectors) and `push_zero` (zero sequence) of their links.

    Drives take their stage at extrapolated currents and direct voltages and fill `drive`, and change[k] where they have
    no link; `emf` and `common` (D,) keep the averages of their pulses, taken over the whole step from t.
    """
    sources, drives = tables.sources, tables.drives
    for s in range(sources.kind.size):
        if sources.kind[s] == SOURCE_GRID:
            turn = 1j * (sources.w[s] * (t + c_share * h) + state.phase[s])
            push[sources.link[s]] = sources.volts[s] * np.exp(turn) if state.live[s] == 1 else 0.0j
    for l in range(drives.link.size):
        data, on, linked = drives.data[l], state.drive_on[l] == 1, drives.data[l, LINK_FARADS] > 0.0
        if k == 0:
            emf[l], common[l] = 0.0j, 0.0
        if on or linked:
            e = scratch[l]
            for w in range(e.size):
                e[w] = state.drive[l, w]
                for j in range(k):
                    e[w] += a[k, j] / a[k, k] * change[j, l, w]
                drive[l, w] = e[w]
            amps = state.drive_amps[l, 0] + c_share * (state.drive_amps[l, 0] - state.drive_amps[l, 1])
            if linked:
                direct = state.direct[l, 0] + c_share * (state.direct[l, 0] - state.direct[l, 1])
                drive[l, X_ENERGY] = 0.5 * data[LINK_FARADS] * max(direct, 0.0) ** 2
            if on:
                drive_stage(d, e, amps, state.target_hz[l], 0.0, data, drive[l])
                if linked and state.drive[l, X_TOLD] == 1.0:
                    emf[l], common[l] = 0.0j, 0.0
                elif drives.pulses[l, PULSE_LEVELS] == 0.0:
                    emf[l] = drive_voltage(drive[l], data) * np.exp(1j * drive[l, X_ANGLE])
                elif k == 0:
                    emf[l], common[l] = pulse_voltage(drives.pulses[l], data, state.drive[l], state.direct[l],
                                                      state.drive_amps[l, 0], t, h)
            for w in range(e.size):
                change[k, l, w] = drive[l, w] - e[w]
        push[drives.link[l]] = emf[l]
        if tables.links.zt[drives.link[l]] != 0.0:
            push_zero[drives.link[l]] = common[l]


@inlined
def pulse_voltage(row, data, x, directs, along, t, h):
    """Average of a drive's pulses over a step: space vector and zero sequence. [V]"""
    direct = 1.5 * directs[0] - 0.5 * directs[1] if data[LINK_FARADS] > 0.0 else data[LINK_VOLTS]
    w = 2.0 * np.pi * output_hz(x, data)
    return bridge_average(row, drive_voltage(x, data), x[X_ANGLE], w, max(direct, 1e-3 * data[LINK_VOLTS]),
                          along * np.exp(1j * x[X_ANGLE]), t, h)


@inlined
def exchanged_power(tables, push, push_zero, x):
    """What drives with a link deliver less what their front ends take: it comes from the link, not from outside. [W]"""
    drives, at, power = tables.drives, tables.layout.link, 0.0
    for l in range(drives.link.size):
        if drives.front[l] >= 0:
            for b in (drives.link[l], drives.front[l]):
                power += push[b].real * x[0, at + b] + push[b].imag * x[1, at + b] + push_zero[b] * x[2, at + b]
    return power


@inlined
def follow_drives(tables, state, drive, push, x):
    """Take over the drives' states at the end of a step, and what they measure there."""
    drives, at = tables.drives, tables.layout.link
    for l in range(drives.link.size):
        b, linked = at + drives.link[l], drives.data[l, LINK_FARADS] > 0.0
        if state.drive_on[l] == 1 or linked:
            for w in range(drive.shape[1]):
                state.drive[l, w] = drive[l, w]
        state.drive_amps[l, 1] = state.drive_amps[l, 0]
        state.drive_amps[l, 0] = complex(x[0, b], x[1, b]) * np.exp(-1j * state.drive[l, X_ANGLE]) / np.sqrt(3.0)
        if linked:
            state.front[l], state.direct[l, 1] = push[drives.front[l]], state.direct[l, 0]
            state.direct[l, 0] = link_volts(drive[l, X_ENERGY], drives.data[l])


@inlined
def find_alert(tables, state):
    """First monitor with something to tell at the end of a step, and its code; -1 when there is none.

    Cores are not among them: this engine carries them limb by limb.
    """
    monitors = tables.monitors
    for k in range(monitors.kind.size):
        item, code = monitors.item[k], NOTHING_TO_TELL
        if monitors.kind[k] == MONITOR_FRONT:
            code = find_front_alarm(state.drive[item], tables.drives.data[item])
        elif monitors.kind[k] == MONITOR_DRIVE and state.drive_on[item] == 1:
            code = find_alarm(state.drive[item], abs(state.drive_amps[item, 0]), tables.drives.data[item])
        if code != NOTHING_TO_TELL:
            return k, code
    return -1, NOTHING_TO_TELL
