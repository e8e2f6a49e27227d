"""What the envelope engine stores of a step, and what it follows at every step."""

from typing import NamedTuple

import numpy as np

from sim.kernels.columns import (
    DRIVE_SAMPLE_AMPS,
    DRIVE_SAMPLE_DIRECT,
    DRIVE_SAMPLE_EMF,
    DRIVE_SAMPLE_HZ,
    DRIVE_SAMPLE_POWER,
    DRIVE_SAMPLE_TRIM,
    DRIVE_STATES,
    LINK_FARADS,
    PEAK_EARTH,
    PEAK_EARTH_TIME,
    PEAK_PHASE,
    PEAK_PHASE_TIME,
    SHAFT_SAMPLE_LOAD,
    SHAFT_SAMPLE_LOAD_SPEED,
    SHAFT_SAMPLE_SPEED,
    SHAFT_SAMPLE_TORQUE,
    SHAFT_SAMPLE_TWISTING,
    TRAIN_INERTIA,
    WINDINGS,
    X_ENERGY,
    X_TRIM,
)
from sim.kernels.control.drive import output_hz
from sim.kernels.elements.machine import air_gap_torque, load_of, stator_current
from sim.kernels.elements.shaft import train_torque
from sim.kernels.jit import inner


class EnvelopeSamples(NamedTuple):
    """Stored points."""

    t: np.ndarray               # (m,)
    v: np.ndarray               # (m, N) complex
    i: np.ndarray               # (m, B) complex
    cable: np.ndarray           # (m, 2, K) complex
    pole: np.ndarray            # (m, Q) complex
    stator: np.ndarray          # (m, A) complex
    shaft: np.ndarray           # (m, A, SHAFT_SAMPLES)
    drive: np.ndarray           # (m, D, DRIVE_SAMPLES)
    w: np.ndarray               # (m, I) frame speed


@inner
def holding_torque(machines, layout, m, r, torque):
    """Torque that a mass at standstill is held against: the air gap's, or that of the shaft which twists."""
    train = machines.train[m]
    if train[TRAIN_INERTIA] == 0.0:
        return torque
    return train_torque(train, r[m] - r[layout.load_speed + m], r[layout.twist + m])


@inner
def held_row(machines, layout, m):
    """Row of r of the mass that sticks at standstill: the second one where there are two."""
    return layout.load_speed + m if machines.train[m, TRAIN_INERTIA] > 0.0 else m


@inner
def held_speed(machines, layout, m, r):
    """Speed of the mass that sticks at standstill. [rad/s]"""
    return r[held_row(machines, layout, m)]


@inner
def follow_peaks(x, t, peak):
    """The magnitude of a space vector bounds every phase (no zero sequence here)."""
    for n in range(peak.shape[0]):
        earth, phase = np.sqrt(2.0 / 3.0) * abs(x[n]), np.sqrt(2.0) * abs(x[n])
        if earth > peak[n, PEAK_EARTH]:
            peak[n, PEAK_EARTH], peak[n, PEAK_EARTH_TIME] = earth, t
        if phase > peak[n, PEAK_PHASE]:
            peak[n, PEAK_PHASE], peak[n, PEAK_PHASE_TIME] = phase, t


@inner
def store_envelope(tables, state, closed, push, t, out, k):
    """Write row k of the samples."""
    cables, machines, switches, drives = tables.cables, tables.machines, tables.switches, tables.drives
    layout, x = tables.layout, state.x
    out.t[k] = t
    for n in range(tables.nodes.c.shape[1]):
        out.v[k, n] = x[n]
    for b in range(tables.links.start.size):
        out.i[k, b] = x[layout.link + b]
    for island in range(state.frame_w.size):
        out.w[k, island] = state.frame_w[island]
    for l in range(cables.start.size):
        jw = 1j * state.frame_w[cables.island[l]] + cables.b[0, cables.first[l]]    # leakage of the ends too
        for end in range(2):
            n = cables.start[l] if end == 0 else cables.end[l]
            total = cables.end_c[0, l] * (state.slope_x[n] + jw * x[n])
            for m in range(cables.first[l], cables.first[l + 1]):
                total -= (cables.gf[0, m] if end == 0 else cables.gt[0, m]) * x[layout.p + m]
            out.cable[k, end, l] = total
    for q in range(switches.start.size):
        out.pole[k, q] = 0.0
        if closed[q] == 1:
            across = x[switches.start[q]]
            if switches.end[q] >= 0:
                across -= x[switches.end[q]]
            out.pole[k, q] = switches.g[q] * across
    for m in range(machines.node.size):
        p = layout.flux + WINDINGS * m
        i, slow = stator_current(machines, m, x[p], x[p + 1], x[p + 2]), held_speed(machines, layout, m, state.r)
        out.stator[k, m] = i
        out.shaft[k, m, SHAFT_SAMPLE_SPEED] = state.r[m]
        out.shaft[k, m, SHAFT_SAMPLE_TORQUE] = air_gap_torque(machines.pairs[m], x[p], i)
        out.shaft[k, m, SHAFT_SAMPLE_LOAD] = load_of(machines, m, state.load_factor[m], slow)
        out.shaft[k, m, SHAFT_SAMPLE_LOAD_SPEED] = slow
        out.shaft[k, m, SHAFT_SAMPLE_TWISTING] = holding_torque(machines, layout, m, state.r, 0.0)
    for l in range(drives.link.size):
        at, data, push_out = layout.drive + DRIVE_STATES * l, drives.data[l], push[drives.link[l]]
        i = x[layout.link + drives.link[l]]
        out.drive[k, l, DRIVE_SAMPLE_HZ] = output_hz(state.r[at:at + DRIVE_STATES], data)
        out.drive[k, l, DRIVE_SAMPLE_EMF] = abs(push_out)
        out.drive[k, l, DRIVE_SAMPLE_TRIM] = state.r[at + X_TRIM]
        out.drive[k, l, DRIVE_SAMPLE_AMPS] = abs(i) / np.sqrt(3.0)
        out.drive[k, l, DRIVE_SAMPLE_DIRECT] = (np.sqrt(2.0 * max(state.r[at + X_ENERGY], 0.0) / data[LINK_FARADS])
                                                if data[LINK_FARADS] > 0.0 else 0.0)
        out.drive[k, l, DRIVE_SAMPLE_POWER] = push_out.real * i.real + push_out.imag * i.imag
