"""Waveform engine: fixed steps of a diagonally implicit method in Clarke coordinates.

Every step ends with a test that the numbers are finite, a look for current zeros of poles that wait,
and the peaks of every node; every stride-th step is stored.  The stepping kernel is one long function
with plain local arrays on purpose: gathered in a tuple and handed to a function per stage, the same work
took twice the time (reference counts on every access).
"""

from typing import NamedTuple

import numpy as np

from sim.kernels.columns import (
    DRIVE_STALL,
    SHAFT_LOCKED,
    SHAFT_SPEED,
    SHAFT_TWIST,
    TRAIN_INERTIA,
    X_HZ,
    X_STALL,
    X_TRIM,
)
from sim.kernels.jit import entry, inlined, inner
from sim.kernels.machine import air_gap_torque, copper_loss, load_of, machine_stage, stator_current
from sim.kernels.shaft import advance_shaft, advance_train, train_torque
from sim.kernels.waveform_stage import (
    cable_history,
    cable_update,
    close_ports,
    drive_controls,
    link_history,
    link_update,
    multiply,
    node_and_pole_loss,
    pole_current,
    source_voltage,
)

NOTHING = 1e-120            # a decayed state below this is zero: subnormal numbers are slow
DONE, POLE_ZERO, STALL_TRIP, DIVERGED = range(4)


class Samples(NamedTuple):
    """Stored points; row k belongs to t[k]."""

    t: np.ndarray               # (m,)
    v: np.ndarray               # (m, 3, N)
    i: np.ndarray               # (m, 3, B)
    cable: np.ndarray           # (m, 2, 3, K) current into each end
    pole: np.ndarray            # (m, Q, 3)
    stator: np.ndarray          # (m, A) complex
    shaft: np.ndarray           # (m, A, SHAFT_SAMPLES)
    drive: np.ndarray           # (m, D, 4) frequency, emf, trim, RMS current


@inlined
def follow_peaks(clarke, x, t, peak):
    """Keep the largest phase-earth and phase-phase voltage of every node."""
    for n in range(peak.shape[0]):
        a = clarke[0, 0] * x[0, n] + clarke[2, 0] * x[2, n]
        b = clarke[0, 1] * x[0, n] + clarke[1, 1] * x[1, n] + clarke[2, 1] * x[2, n]
        c = clarke[0, 2] * x[0, n] + clarke[1, 2] * x[1, n] + clarke[2, 2] * x[2, n]
        earth = max(abs(a), abs(b), abs(c))
        if earth > peak[n, 0]:
            peak[n, 0] = earth
            peak[n, 1] = t
        phase = max(abs(a - b), abs(b - c), abs(c - a))
        if phase > peak[n, 2]:
            peak[n, 2] = phase
            peak[n, 3] = t


@inlined
def crossing(switches, pole_g, clarke, opening, x_old, x_new, quiet):
    """First pole that waits and reaches a current zero in this step: (switch, phase, share of step)."""
    best, best_q, best_phase = 2.0, -1, -1
    for q in range(opening.shape[0]):
        for phase in range(3):
            if opening[q, phase] == 0:
                continue
            i0 = pole_current(switches, pole_g, clarke, x_old, q, phase)
            i1 = pole_current(switches, pole_g, clarke, x_new, q, phase)
            share = 2.0
            if abs(i0) <= quiet:
                share = 0.0
            elif i0 * i1 <= 0.0:
                share = i0 / (i0 - i1)
            if share < best:
                best, best_q, best_phase = share, q, phase
    return best_q, best_phase, best


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
def store_sample(tables, coef, clarke, state, e, t, push, out, k):
    """Write row k of the samples; e is the explicit part of the last stage."""
    n_nodes, n_links = tables.nodes.c.shape[1], tables.links.start.size
    x = state.x
    out.t[k] = t
    for c in range(3):
        for n in range(n_nodes):
            out.v[k, c, n] = x[c, n]
        for b in range(n_links):
            out.i[k, c, b] = x[c, n_nodes + b]
    store_cables(tables.cables, x, e, coef.d, n_nodes + 2 * n_links, out.cable, k)
    for q in range(tables.switches.start.size):
        for phase in range(3):
            out.pole[k, q, phase] = pole_current(tables.switches, coef.pole_g, clarke, x, q, phase)
    machines = tables.machines
    at = x.shape[1] - 3 * machines.node.size
    for m in range(machines.node.size):
        p0 = complex(x[0, at + 3 * m], x[1, at + 3 * m])
        p1 = complex(x[0, at + 3 * m + 1], x[1, at + 3 * m + 1])
        p2 = complex(x[0, at + 3 * m + 2], x[1, at + 3 * m + 2])
        i = stator_current(machines.gamma[m], p0, p1, p2)
        out.stator[k, m] = i
        out.shaft[k, m, 0] = state.speed[m]
        out.shaft[k, m, 1] = air_gap_torque(machines.pairs[m], p0, i)
        if machines.train[m, TRAIN_INERTIA] > 0.0:
            slow, twist = state.shaft[m, SHAFT_SPEED], state.shaft[m, SHAFT_TWIST]
            out.shaft[k, m, 3] = slow
            out.shaft[k, m, 4] = train_torque(machines.train[m], state.speed[m] - slow, twist)
            out.shaft[k, m, 2] = load_of(machines, m, state.load_factor[m], slow)
        else:
            out.shaft[k, m, 2] = load_of(machines, m, state.load_factor[m], state.speed[m])
    for s in range(tables.sources.drive.size):
        l = tables.sources.drive[s]
        if l >= 0:
            out.drive[k, l, 0] = state.drive[l, X_HZ]
            out.drive[k, l, 1] = abs(push[tables.sources.link[s]])
            out.drive[k, l, 2] = state.drive[l, X_TRIM]
            out.drive[k, l, 3] = state.drive_amps[l, 0]


@entry
def waveform_steps(tables, coef, clarke, a, c_share, state, t0, steps, stride, out, quiet):
    """Take up to `steps` steps of length coef.h from t0.

    Parameters
    ----------
    a, c_share : ndarray
        Stage table of a method with all-implicit stages.
    stride : int
        Every stride-th step is stored.
    quiet : float
        A waiting pole whose current is below this opens at once. [A]

    Returns
    -------
    status, steps taken, rows stored, switch or drive, phase, share of the step
        At POLE_ZERO the step is not taken: the caller repeats it shortened to the zero.
    """
    h, d = coef.h, coef.d
    s_count = a.shape[0]
    nodes, links, cables, machines = tables.nodes, tables.links, tables.cables, tables.machines
    sources, switches = tables.sources, tables.switches
    n_nodes, n_links, n_machines = nodes.c.shape[1], links.start.size, machines.node.size
    n_sources, n_drives = sources.drive.size, state.drive.shape[0]
    n = state.x.shape[1]
    at_modes, at_psi = n_nodes + 2 * n_links, n - 3 * n_machines
    change = np.zeros((s_count, 3, n))
    change_drive = np.zeros((s_count, n_drives, state.drive.shape[1]))
    e, x = np.zeros((3, n)), np.zeros((3, n))
    drive, e_drive = state.drive.copy(), np.zeros_like(state.drive)
    ports = np.zeros((n_machines, 8), dtype=np.complex128)
    rhs, j = np.zeros((3, n_nodes)), np.zeros((3, n_links))
    history = np.zeros((3, cables.w.shape[1]))
    small_a, small_b = np.zeros((2 * n_machines, 2 * n_machines)), np.zeros(2 * n_machines)
    push = np.zeros(n_links, dtype=np.complex128)
    gain, torque, power = np.zeros(n_machines), np.zeros(n_machines), np.zeros(4)
    rows = np.zeros(1, dtype=np.int64)
    for step in range(steps):
        t = t0 + step * h
        for k in range(4):
            power[k] = 0.0
        for m in range(n_machines):
            gain[m] = 0.0
        for k in range(s_count):
            weight = a[s_count - 1, k] * h
            for c in range(3):
                for m in range(n):
                    e[c, m] = state.x[c, m]
                for i in range(k):
                    f = a[k, i] / a[k, k]
                    for m in range(n):
                        e[c, m] += f * change[i, c, m]
            drive_controls(sources, state, a, k, c_share[k], d, change_drive, e_drive, drive)
            for s in range(n_sources):
                push[sources.link[s]] = source_voltage(sources, state, s, t + c_share[k] * h, drive)
            for c in range(3):
                for m in range(n_nodes):
                    rhs[c, m] = nodes.c[0 if c < 2 else 1, m] / d * e[c, m]
            cable_history(cables, coef, at_modes, e, rhs, history)
            link_history(links, coef.link_y, d, push, e, rhs, j)
            for m in range(n_machines):
                speed = state.speed[m] + c_share[k] * h * state.acceleration[m]
                p = at_psi + 3 * m
                machine_stage(d, 0.0, machines.pairs[m] * speed, machines.gamma[m], machines.r[m],
                              complex(e[0, p], e[1, p]), complex(e[0, p + 1], e[1, p + 1]),
                              complex(e[0, p + 2], e[1, p + 2]), ports[m])
            if n_machines:
                close_ports(machines.node, coef.z, ports, rhs, small_a, small_b)
            multiply(coef.z, rhs, x)
            delivered, loss = link_update(links, coef.link_y, d, push, e, j, x, n_nodes)
            loss += cable_update(cables, coef, at_modes, e, history, x)
            loss += node_and_pole_loss(nodes.g, switches, coef.pole_g, clarke, x)
            for m in range(n_machines):
                v = complex(x[0, machines.node[m]], x[1, machines.node[m]])
                p = at_psi + 3 * m
                for w in range(3):
                    flux = ports[m, w] + ports[m, 3 + w] * v
                    x[0, p + w], x[1, p + w] = flux.real, flux.imag
                p0, p1 = complex(x[0, p], x[1, p]), complex(x[0, p + 1], x[1, p + 1])
                loss += copper_loss(machines.gamma[m], machines.r[m], p0, p1, complex(x[0, p + 2], x[1, p + 2]))
                torque[m] = air_gap_torque(machines.pairs[m], p0, ports[m, 6] + ports[m, 7] * v)
                speed = state.speed[m] + c_share[k] * h * state.acceleration[m]
                if machines.train[m, TRAIN_INERTIA] > 0.0:
                    power[2] += weight * torque[m] * speed
                    gain[m] += weight * torque[m] / machines.j[m]
                elif state.shaft[m, SHAFT_LOCKED] == 0.0:
                    power[2] += weight * torque[m] * speed
                    asked = load_of(machines, m, state.load_factor[m], speed)
                    gain[m] += weight * (torque[m] - asked) / machines.j[m]
            for c in range(3):
                for m in range(n):
                    change[k, c, m] = x[c, m] - e[c, m]
            power[0] += weight * delivered
            power[1] += weight * loss
            power[3] += weight * abs(delivered)
        if not np.isfinite(power[0] + power[1]):
            return DIVERGED, step, rows[0], -1, -1, 0.0
        q, phase, share = crossing(switches, coef.pole_g, clarke, state.opening, state.x, x, quiet)
        if q >= 0:
            return POLE_ZERO, step, rows[0], q, phase, share
        for c in range(3):
            for m in range(n):
                state.x[c, m] = x[c, m] if abs(x[c, m]) > NOTHING else 0.0
        for s in range(n_sources):
            l = sources.drive[s]
            if l >= 0:
                b = n_nodes + sources.link[s]
                state.drive_amps[l, 1] = state.drive_amps[l, 0]
                state.drive_amps[l, 0] = np.sqrt((x[0, b] ** 2 + x[1, b] ** 2) / 3.0)
                if state.drive_on[l] == 1:
                    for w in range(drive.shape[1]):
                        state.drive[l, w] = drive[l, w]
        for m in range(n_machines):
            if machines.train[m, TRAIN_INERTIA] > 0.0:
                advance_train(machines, m, state.load_factor[m], gain[m], torque[m], t + h, h, state.speed,
                              state.acceleration, state.shaft)
            else:
                advance_shaft(machines, m, state.load_factor[m], gain[m], torque[m], t + h, state.speed,
                              state.acceleration, state.shaft)
        for k in range(4):
            state.energy[k] += power[k]
        state.energy[4] += 1.0
        follow_peaks(clarke, x, t + h, state.peak)
        if int(state.energy[4]) % stride == 0:
            store_sample(tables, coef, clarke, state, e, t + h, push, out, rows[0])
            rows[0] += 1
        for l in range(n_drives):
            if state.drive_on[l] == 1 and state.drive[l, X_STALL] >= sources.data[l, DRIVE_STALL]:
                return STALL_TRIP, step + 1, rows[0], l, -1, 0.0
    return DONE, steps, rows[0], -1, -1, 0.0
