"""What the envelope engine stores of a step, and what it follows at every step."""

from typing import NamedTuple

import numpy as np

from sim.kernels.columns import DRIVE_STATES, LINK_FARADS, TRAIN_INERTIA, X_ENERGY, X_TRIM
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
def holding_torque(machines, m, r, torque):
    """Torque that a mass at standstill is held against: the air gap's, or that of the shaft which twists."""
    if machines.train[m, TRAIN_INERTIA] == 0.0:
        return torque
    size = machines.node.size
    return train_torque(machines.train[m], r[m] - r[size + m], r[2 * size + m])


@inner
def held_speed(machines, m, r):
    """Speed of the mass that sticks at standstill: the second one where there are two. [rad/s]"""
    return r[machines.node.size + m] if machines.train[m, TRAIN_INERTIA] > 0.0 else r[m]


@inner
def follow_peaks(x, t, peak):
    """The magnitude of a space vector bounds every phase (no zero sequence here)."""
    for n in range(peak.shape[0]):
        earth, phase = np.sqrt(2.0 / 3.0) * abs(x[n]), np.sqrt(2.0) * abs(x[n])
        if earth > peak[n, 0]:
            peak[n, 0], peak[n, 1] = earth, t
        if phase > peak[n, 2]:
            peak[n, 2], peak[n, 3] = phase, t


@inner
def store_envelope(tables, state, closed, push, t, out, k):
    """Write row k of the samples."""
    n_nodes, n_links, cables = tables.nodes.c.shape[1], tables.links.start.size, tables.cables
    machines, switches = tables.machines, tables.switches
    at, x = n_nodes + 2 * n_links, state.x
    out.t[k] = t
    for n in range(n_nodes):
        out.v[k, n] = x[n]
    for b in range(n_links):
        out.i[k, b] = x[n_nodes + b]
    for island in range(state.frame_w.size):
        out.w[k, island] = state.frame_w[island]
    for l in range(cables.start.size):
        jw = 1j * state.frame_w[cables.island[l]] + cables.b[0, cables.first[l]]    # leakage of the ends too
        for end in range(2):
            n = cables.start[l] if end == 0 else cables.end[l]
            total = cables.end_c[0, l] * (state.slope_x[n] + jw * x[n])
            for m in range(cables.first[l], cables.first[l + 1]):
                total -= (cables.gf[0, m] if end == 0 else cables.gt[0, m]) * x[at + m]
            out.cable[k, end, l] = total
    for q in range(switches.start.size):
        out.pole[k, q] = 0.0
        if closed[q] == 1:
            across = x[switches.start[q]]
            if switches.end[q] >= 0:
                across -= x[switches.end[q]]
            out.pole[k, q] = switches.g[q] * across
    first = x.size - 3 * machines.node.size
    for m in range(machines.node.size):
        p = first + 3 * m
        i = stator_current(machines, m, x[p], x[p + 1], x[p + 2])
        out.stator[k, m] = i
        out.shaft[k, m, 0] = state.r[m]
        out.shaft[k, m, 1] = air_gap_torque(machines.pairs[m], x[p], i)
        out.shaft[k, m, 2] = load_of(machines, m, state.load_factor[m], held_speed(machines, m, state.r))
        out.shaft[k, m, 3] = held_speed(machines, m, state.r)
        out.shaft[k, m, 4] = holding_torque(machines, m, state.r, 0.0)
    for s in range(tables.sources.drive.size):
        l = tables.sources.drive[s]
        if l >= 0:
            r = 3 * machines.node.size + DRIVE_STATES * l
            b, data = tables.sources.link[s], tables.sources.data[l]
            i = x[n_nodes + b]
            out.drive[k, l, 0] = output_hz(state.r[r:r + DRIVE_STATES], data)
            out.drive[k, l, 1] = abs(push[b])
            out.drive[k, l, 2] = state.r[r + X_TRIM]
            out.drive[k, l, 3] = abs(i) / np.sqrt(3.0)
            out.drive[k, l, 4] = (np.sqrt(2.0 * max(state.r[r + X_ENERGY], 0.0) / data[LINK_FARADS])
                                  if data[LINK_FARADS] > 0.0 else 0.0)
            out.drive[k, l, 5] = push[b].real * i.real + push[b].imag * i.imag
