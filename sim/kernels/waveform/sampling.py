"""What the waveform engine stores of a step, and what it follows at every step."""

from typing import NamedTuple

import numpy as np

from sim.kernels.columns import (
    DRIVE_SAMPLE_AMPS,
    DRIVE_SAMPLE_DIRECT,
    DRIVE_SAMPLE_EMF,
    DRIVE_SAMPLE_HZ,
    DRIVE_SAMPLE_POWER,
    DRIVE_SAMPLE_TRIM,
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
    SHAFT_SPEED,
    SHAFT_TWIST,
    TRAIN_INERTIA,
    WINDINGS,
    X_ENERGY,
    X_TRIM,
)
from sim.kernels.control.drive import output_hz
from sim.kernels.elements.machine import air_gap_torque, load_of, stator_current
from sim.kernels.elements.poles import phase_value, pole_current
from sim.kernels.elements.shaft import train_torque
from sim.kernels.jit import inner

LASTING = 0.8           # an alternation that shrinks faster than this is a front above the band, damped by the method


class Samples(NamedTuple):
    """Stored points; row k belongs to t[k]."""

    t: np.ndarray               # (m,)
    v: np.ndarray               # (m, 3, N)
    i: np.ndarray               # (m, 3, B)
    cable: np.ndarray           # (m, 2, 3, K) current into each end
    pole: np.ndarray            # (m, Q, 3)
    port: np.ndarray            # (m, P)
    stator: np.ndarray          # (m, A) complex
    shaft: np.ndarray           # (m, A, SHAFT_SAMPLES)
    drive: np.ndarray           # (m, D, DRIVE_SAMPLES)


@inner
def follow_peaks(clarke, x, t, peak):
    """Keep the largest phase-earth and phase-phase voltage of every node."""
    for n in range(peak.shape[0]):
        a, b, c = phase_value(clarke, x, n, 0), phase_value(clarke, x, n, 1), phase_value(clarke, x, n, 2)
        earth = max(abs(a), abs(b), abs(c))
        if earth > peak[n, PEAK_EARTH]:
            peak[n, PEAK_EARTH] = earth
            peak[n, PEAK_EARTH_TIME] = t
        phase = max(abs(a - b), abs(b - c), abs(c - a))
        if phase > peak[n, PEAK_PHASE]:
            peak[n, PEAK_PHASE] = phase
            peak[n, PEAK_PHASE_TIME] = t


@inner
def follow_chatter(x_old, x_new, delta, turns, noise, chatter):
    """Count the steps in a row at which the change of a node voltage turns its sign without dying away."""
    for c in range(3):
        for n in range(noise.size):
            change = x_new[c, n] - x_old[c, n]
            turned = change * delta[c, n] < 0.0 and abs(change) > max(noise[n], LASTING * abs(delta[c, n]))
            turns[c, n] = turns[c, n] + 1 if turned else 0
            if turns[c, n] > chatter[n]:
                chatter[n] = turns[c, n]
            delta[c, n] = change


@inner
def store_cables(cables, x, e, d, at, out, k):
    """Current into both ends of every cable; end capacitances take theirs from the last stage."""
    for c in range(3):
        row = 0 if c < 2 else 1
        for l in range(cables.start.size):
            f, t = cables.start[l], cables.end[l]
            leak = cables.b[row, cables.first[l]]
            into_f = cables.end_c[row, l] * ((x[c, f] - e[c, f]) / d + leak * x[c, f])
            into_t = cables.end_c[row, l] * ((x[c, t] - e[c, t]) / d + leak * x[c, t])
            for m in range(cables.first[l], cables.first[l + 1]):
                into_f -= cables.gf[row, m] * x[c, at + m]
                into_t -= cables.gt[row, m] * x[c, at + m]
            out[k, 0, c, l] = into_f
            out[k, 1, c, l] = into_t


@inner
def store_sample(tables, coef, clarke, state, e, t, push, current, out, k):
    """Write row k of the samples; e is the explicit part of the last stage."""
    x, layout = state.x, tables.layout
    out.t[k] = t
    for c in range(3):
        for n in range(tables.nodes.c.shape[1]):
            out.v[k, c, n] = x[c, n]
        for b in range(tables.links.start.size):
            out.i[k, c, b] = x[c, layout.link + b]
    store_cables(tables.cables, x, e, coef.d, layout.p, out.cable, k)
    for q in range(tables.switches.start.size):
        for phase in range(3):
            out.pole[k, q, phase] = pole_current(tables.switches, coef.pole_g, clarke, x, q, phase)
    for p in range(current.size):
        out.port[k, p] = current[p]
    machines = tables.machines
    for m in range(machines.node.size):
        p = layout.flux + WINDINGS * m
        p0, p1, p2 = complex(x[0, p], x[1, p]), complex(x[0, p + 1], x[1, p + 1]), complex(x[0, p + 2], x[1, p + 2])
        i = stator_current(machines, m, p0, p1, p2)
        out.stator[k, m] = i
        out.shaft[k, m, SHAFT_SAMPLE_SPEED] = state.speed[m]
        out.shaft[k, m, SHAFT_SAMPLE_TORQUE] = air_gap_torque(machines.pairs[m], p0, i)
        driven = state.speed[m]
        if machines.train[m, TRAIN_INERTIA] > 0.0:
            driven = state.shaft[m, SHAFT_SPEED]
            out.shaft[k, m, SHAFT_SAMPLE_LOAD_SPEED] = driven
            out.shaft[k, m, SHAFT_SAMPLE_TWISTING] = train_torque(machines.train[m], state.speed[m] - driven,
                                                                  state.shaft[m, SHAFT_TWIST])
        out.shaft[k, m, SHAFT_SAMPLE_LOAD] = load_of(machines, m, state.load_factor[m], driven)
    for l in range(tables.drives.link.size):
        b, data = tables.drives.link[l], tables.drives.data[l]
        out.drive[k, l, DRIVE_SAMPLE_HZ] = output_hz(state.drive[l], data)
        out.drive[k, l, DRIVE_SAMPLE_EMF] = abs(push[b])
        out.drive[k, l, DRIVE_SAMPLE_TRIM] = state.drive[l, X_TRIM]
        out.drive[k, l, DRIVE_SAMPLE_AMPS] = abs(state.drive_amps[l, 0])
        out.drive[k, l, DRIVE_SAMPLE_DIRECT] = (np.sqrt(2.0 * max(state.drive[l, X_ENERGY], 0.0) / data[LINK_FARADS])
                                                if data[LINK_FARADS] > 0.0 else 0.0)
        at = layout.link + b
        out.drive[k, l, DRIVE_SAMPLE_POWER] = push[b].real * x[0, at] + push[b].imag * x[1, at]
