"""Elements of one implicit stage of the waveform engine.

The state x has shape (3, n): rows alpha, beta, zero; columns as in `sim.network.tables`.  Every element
gives its Norton equivalent at its nodes, the junction matrix (already inverted for this topology and
step) gives the node voltages, the machines close the loop at their ports, and the elements substitute
back.  The speed of a shaft is extrapolated over the step, so a machine is linear in it.
"""

from typing import NamedTuple

import numpy as np

from sim.kernels.columns import FRONT_STEPS, FRONT_W, LINK_FARADS, LINK_LOSS, LINK_VOLTS, X_ANGLE, X_ENERGY
from sim.kernels.drive import drive_stage, drive_voltage, output_hz
from sim.kernels.front import front_stage
from sim.kernels.jit import inlined, inner_sums
from sim.kernels.pulses import PULSE_LEVELS, bridge_average
from sim.kernels.small import solve_small


class Coefficients(NamedTuple):
    """What one topology and step length fix."""

    h: float
    d: float                    # gamma h
    link_y: np.ndarray          # (2, B) admittance of a stage [S]
    kp: np.ndarray              # (2, M) p = kp Ep - kq Eq - kf v_start - kt v_end
    kq: np.ndarray              # (2, M)
    kf: np.ndarray              # (2, M)
    kt: np.ndarray              # (2, M)
    cq: np.ndarray              # (2, M) q = cq (Eq + d w p)
    yc: np.ndarray              # (2, branches) y = yc Ey + yh p
    yh: np.ndarray              # (2, branches)
    z: np.ndarray               # (3N, 3N) inverse junction matrix [ohm]
    zpp: np.ndarray             # (P, P) the same between nonlinear ports
    zpm: np.ndarray             # (P, 2A) from machines to ports
    zmp: np.ndarray             # (2A, P)
    zmm: np.ndarray             # (2A, 2A)
    pole_g: np.ndarray          # (Q, 3) conductance of each pole now [S]


class State(NamedTuple):
    """Everything that evolves; arrays are changed in place."""

    x: np.ndarray               # (3, n)
    speed: np.ndarray           # (A,) [rad/s]
    acceleration: np.ndarray    # (A,) at the present point [rad/s2]
    shaft: np.ndarray           # (A, SHAFT_STATES), see `sim.kernels.columns`
    load_factor: np.ndarray     # (A,)
    drive: np.ndarray           # (D, DRIVE_STATES)
    drive_amps: np.ndarray      # (D, 2) complex, RMS current along the drive's voltage, now and a step before [A]
    front: np.ndarray           # (D, 2, 2) complex, voltage at a front end and current out of it, likewise [V, A]
    drive_on: np.ndarray        # (D,) int, pulses released
    target_hz: np.ndarray       # (D,)
    live: np.ndarray            # (S,) int, grid sources switched on
    energy: np.ndarray          # (5,) delivered, dissipated, shaft work, throughput, steps
    peak: np.ndarray            # (N, 4) phase-earth, its time, phase-phase, its time
    opening: np.ndarray         # (Q, 3) int, pole waits for its current zero
    flux: np.ndarray            # (A, 2) magnitude of the main path's flux linkage and its rate [V s, V]


class Watch(NamedTuple):
    """What is kept of every step; arrays are changed in place."""

    separated: np.ndarray       # (Q, 3) time at which the contacts of an open pole parted; nan: not watched
    recovery: np.ndarray        # (Q, 3, 2) see `sim.kernels.poles`
    taken: np.ndarray           # (P,) energy of every arrester [J]
    port_peak: np.ndarray       # (P, 2) largest current [A] and voltage [V]
    delta: np.ndarray           # (3, N) change over the last step [V]
    turns: np.ndarray           # (3, N) int, steps in a row at which it changed sign
    chatter: np.ndarray         # (N,) int, the most of them
    noise: np.ndarray           # (N,) changes below this do not count [V]


@inlined
def source_voltage(sources, state, s, t, emf):
    """Space vector of source s at time t; `emf` (D,) holds those of the drives at that moment. [V]"""
    l = sources.drive[s]
    if l >= 0:
        return emf[l]
    if state.live[s] == 0:
        return 0.0j
    return sources.volts[s] * np.exp(1j * (sources.w[s] * t + sources.phase[s]))


@inner_sums
def oscillator_history(kp, kq, gf, gt, e_p, e_q, history):
    """history = kp Ep - kq Eq; returns the currents it sends into the two ends."""
    to_start, to_end = 0.0, 0.0
    for m in range(kp.size):
        value = kp[m] * e_p[m] - kq[m] * e_q[m]
        history[m] = value
        to_start += gf[m] * value
        to_end += gt[m] * value
    return to_start, to_end


@inner_sums
def oscillator_update(kf, kt, cq, w, a, b, d, vf, vt, history, e_q, p, q):
    """New p and q of one cable and row; returns the power they dissipate."""
    loss = 0.0
    for m in range(kf.size):
        pm = history[m] - kf[m] * vf - kt[m] * vt
        qm = cq[m] * (e_q[m] + d * w[m] * pm)
        p[m] = pm
        q[m] = qm
        loss += a[m] * pm * pm + b[m] * qm * qm
    return loss


@inner_sums
def branch_history(yh, e_p, e_y, out):
    """out = Ep and what the Foster branches' states add to it."""
    size = out.size
    for m in range(size):
        out[m] = e_p[m]
    for k in range(yh.size):
        for m in range(size):
            out[m] += yh[k] * e_y[k * size + m]


@inner_sums
def branch_update(yc, yh, alpha, beta, e_y, p, y):
    """New Foster states of one cable and row; returns the power they dissipate."""
    loss, size = 0.0, p.size
    for k in range(yc.size):
        root = np.sqrt(alpha[k])
        share = beta[k] / root
        for m in range(size):
            ym = yc[k] * e_y[k * size + m] + yh[k] * p[m]
            y[k * size + m] = ym
            loss += (share * p[m] - root * ym) ** 2
    return loss


@inlined
def cable_history(cables, coef, at, e, rhs, history):
    """Norton currents of all cables for the explicit part e; `at` is the first oscillator column."""
    n_modes = cables.w.shape[1]
    for c in range(3):
        row = 0 if c < 2 else 1
        for k in range(cables.start.size):
            lo, hi = cables.first[k], cables.first[k + 1]
            e_p, part = e[c, at + lo:at + hi], history[c, lo:hi]
            if cables.branch[k + 1] > cables.branch[k]:
                y_lo, y_hi = at + 2 * n_modes + cables.foster[k], at + 2 * n_modes + cables.foster[k + 1]
                branch_history(coef.yh[row, cables.branch[k]:cables.branch[k + 1]], e_p, e[c, y_lo:y_hi], part)
                e_p = part
            jf, jt = oscillator_history(coef.kp[row, lo:hi], coef.kq[row, lo:hi], cables.gf[row, lo:hi],
                                        cables.gt[row, lo:hi], e_p, e[c, at + n_modes + lo:at + n_modes + hi], part)
            rhs[c, cables.start[k]] += jf
            rhs[c, cables.end[k]] += jt


@inlined
def cable_update(cables, coef, at, e, history, x):
    """New oscillator states; returns the loss."""
    n_modes = cables.w.shape[1]
    loss = 0.0
    for c in range(3):
        row = 0 if c < 2 else 1
        for k in range(cables.start.size):
            lo, hi = cables.first[k], cables.first[k + 1]
            loss += oscillator_update(
                coef.kf[row, lo:hi], coef.kt[row, lo:hi], coef.cq[row, lo:hi], cables.w[row, lo:hi],
                cables.a[row, lo:hi], cables.b[row, lo:hi], coef.d, x[c, cables.start[k]], x[c, cables.end[k]],
                history[c, lo:hi], e[c, at + n_modes + lo:at + n_modes + hi],
                x[c, at + lo:at + hi], x[c, at + n_modes + lo:at + n_modes + hi])
            if cables.branch[k + 1] > cables.branch[k]:
                y_lo, y_hi = at + 2 * n_modes + cables.foster[k], at + 2 * n_modes + cables.foster[k + 1]
                b_lo, b_hi = cables.branch[k], cables.branch[k + 1]
                loss += branch_update(coef.yc[row, b_lo:b_hi], coef.yh[row, b_lo:b_hi], cables.alpha[row, b_lo:b_hi],
                                      cables.beta[row, b_lo:b_hi], e[c, y_lo:y_hi], x[c, at + lo:at + hi],
                                      x[c, y_lo:y_hi])
    return loss


@inlined
def link_history(links, link_y, d, push, push_zero, e, rhs, j):
    """Link currents j at zero node voltage, and what they take from the nodes; push is (B,) complex emf."""
    n_nodes, n_links = rhs.shape[1], links.start.size
    for b in range(n_links):
        for c in range(3):
            row = 0 if c < 2 else 1
            source = push[b].real if c == 0 else (push[b].imag if c == 1 else push_zero[b])
            e_i, e_u = e[c, n_nodes + b], e[c, n_nodes + n_links + b]
            j[c, b] = link_y[row, b] * (links.l[row, b] / d * e_i - e_u + source)
        vector = complex(j[0, b], j[1, b])
        if links.start[b] >= 0:
            into = np.conj(links.wf[b]) * vector
            rhs[0, links.start[b]] -= into.real
            rhs[1, links.start[b]] -= into.imag
            rhs[2, links.start[b]] -= links.zf[b] * j[2, b]
        if links.end[b] >= 0:
            into = np.conj(links.wt[b]) * vector
            rhs[0, links.end[b]] -= into.real
            rhs[1, links.end[b]] -= into.imag
            rhs[2, links.end[b]] -= links.zt[b] * j[2, b]


@inlined
def link_update(links, link_y, d, push, push_zero, e, j, x, n_nodes):
    """New link currents and capacitor voltages; returns (source power, loss)."""
    n_links = links.start.size
    delivered, loss = 0.0, 0.0
    for b in range(n_links):
        f, t = links.start[b], links.end[b]
        drop = 0.0j
        drop0 = 0.0
        if f >= 0:
            drop += links.wf[b] * complex(x[0, f], x[1, f])
            drop0 += links.zf[b] * x[2, f]
        if t >= 0:
            drop += links.wt[b] * complex(x[0, t], x[1, t])
            drop0 += links.zt[b] * x[2, t]
        for c in range(3):
            row = 0 if c < 2 else 1
            across = drop.real if c == 0 else (drop.imag if c == 1 else drop0)
            i = j[c, b] + link_y[row, b] * across
            x[c, n_nodes + b] = i
            x[c, n_nodes + n_links + b] = e[c, n_nodes + n_links + b] + d * links.s[row, b] * i
            loss += links.r[row, b] * i * i
        delivered += push[b].real * x[0, n_nodes + b] + push[b].imag * x[1, n_nodes + b]
        delivered += push_zero[b] * x[2, n_nodes + b]
    return delivered, loss


@inlined
def close_ports(nodes_of, z, ports, rhs, a, b):
    """Machine currents: v = v_open - z (i_h + y v) at the machine nodes; rhs takes the currents up."""
    n_nodes, n_machines = rhs.shape[1], nodes_of.size
    flat = rhs.reshape(rhs.size)
    for m in range(n_machines):
        for c in range(2):
            line = z[c * n_nodes + nodes_of[m]]
            total = 0.0
            for k in range(flat.size):
                total += line[k] * flat[k]
            r = 2 * m + c
            b[r] = total
            for l in range(n_machines):
                zr, zi = line[nodes_of[l]], line[n_nodes + nodes_of[l]]
                y, ih = ports[l, 7], ports[l, 6]
                b[r] -= zr * ih.real + zi * ih.imag
                a[r, 2 * l] = zr * y.real + zi * y.imag
                a[r, 2 * l + 1] = -zr * y.imag + zi * y.real
            a[r, r] += 1.0
    solve_small(a, b, 2 * n_machines)
    for m in range(n_machines):
        i = ports[m, 6] + ports[m, 7] * complex(b[2 * m], b[2 * m + 1])
        rhs[0, nodes_of[m]] -= i.real
        rhs[1, nodes_of[m]] -= i.imag


@inner_sums
def multiply(z, rhs, x):
    """Node voltages, the first columns of x, from the currents into the nodes."""
    n = rhs.shape[1]
    flat = rhs.reshape(rhs.size)
    for c in range(3):
        for r in range(n):
            total = 0.0
            for k in range(flat.size):
                total += z[c * n + r, k] * flat[k]
            x[c, r] = total


@inlined
def node_loss(node_g, x):
    """Power in the conductances to earth. [W]"""
    loss = 0.0
    for c in range(3):
        row = 0 if c < 2 else 1
        for n in range(node_g.shape[1]):
            loss += node_g[row, n] * x[c, n] * x[c, n]
    return loss


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
