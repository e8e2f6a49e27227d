"""Elements of one implicit stage of the waveform engine.

The state x has shape (3, n): rows alpha, beta, zero; columns as in `sim.network.tables`.  Every element
gives its Norton equivalent at its nodes, the junction matrix (already inverted for this topology and
step) gives the node voltages, the machines close the loop at their ports, and the elements substitute
back.  The speed of a shaft is extrapolated over the step, so a machine is linear in it.
"""

from typing import NamedTuple

import numpy as np

from sim.kernels.jit import inlined, inner_fused
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
    front: np.ndarray           # (D,) complex, voltage of a front end [V]
    direct: np.ndarray          # (D, 2) direct voltage, now and a step before [V]
    drive_on: np.ndarray        # (D,) int, pulses released
    target_hz: np.ndarray       # (D,)
    live: np.ndarray            # (S,) int, grids switched on
    phase: np.ndarray           # (S,) angle of grids at t = 0 [rad]
    energy: np.ndarray          # (ENERGY_STEPS + 1,)
    peak: np.ndarray            # (N, PEAK_COLUMNS)
    limit: np.ndarray           # (K,) what each monitor allows; of cores the flux linkage [V s]
    opening: np.ndarray         # (Q, 3) int, pole waits for its current zero
    flux: np.ndarray            # (A, 2) magnitude of the main path's flux linkage and its rate [V s, V]


class Watch(NamedTuple):
    """What is kept of every step; arrays are changed in place."""

    separated: np.ndarray       # (Q, 3) time at which the contacts of an open pole parted; nan: not watched
    recovery: np.ndarray        # (Q, 3, 2) see `sim.kernels.elements.poles`
    taken: np.ndarray           # (P,) energy of every arrester [J]
    port_peak: np.ndarray       # (P, 2) largest current [A] and voltage [V]
    delta: np.ndarray           # (3, N) change over the last step [V]
    turns: np.ndarray           # (3, N) int, steps in a row at which it changed sign
    chatter: np.ndarray         # (N,) int, the most of them
    noise: np.ndarray           # (N,) changes below this do not count [V]


@inner_fused
def oscillator_history(kp, kq, gf, gt, e_p, e_q, history):
    """history = kp Ep - kq Eq; returns the currents it sends into the two ends."""
    to_start, to_end = 0.0, 0.0
    for m in range(kp.size):
        value = kp[m] * e_p[m] - kq[m] * e_q[m]
        history[m] = value
        to_start += gf[m] * value
        to_end += gt[m] * value
    return to_start, to_end


@inner_fused
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


@inner_fused
def branch_history(yh, e_p, e_y, out):
    """out = Ep and what the Foster branches' states add to it."""
    size = out.size
    for m in range(size):
        out[m] = e_p[m]
    for k in range(yh.size):
        for m in range(size):
            out[m] += yh[k] * e_y[k * size + m]


@inner_fused
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
def cable_history(layout, cables, coef, e, rhs, history):
    """Norton currents of all cables for the explicit part e."""
    at_p, at_q, at_y = layout.p, layout.q, layout.foster
    for c in range(3):
        row = 0 if c < 2 else 1
        for k in range(cables.start.size):
            lo, hi = cables.first[k], cables.first[k + 1]
            e_p, part = e[c, at_p + lo:at_p + hi], history[c, lo:hi]
            if cables.branch[k + 1] > cables.branch[k]:
                y_lo, y_hi = at_y + cables.foster[k], at_y + cables.foster[k + 1]
                branch_history(coef.yh[row, cables.branch[k]:cables.branch[k + 1]], e_p, e[c, y_lo:y_hi], part)
                e_p = part
            jf, jt = oscillator_history(coef.kp[row, lo:hi], coef.kq[row, lo:hi], cables.gf[row, lo:hi],
                                        cables.gt[row, lo:hi], e_p, e[c, at_q + lo:at_q + hi], part)
            rhs[c, cables.start[k]] += jf
            rhs[c, cables.end[k]] += jt


@inlined
def cable_update(layout, cables, coef, e, history, x):
    """New oscillator states; returns the loss."""
    at_p, at_q, at_y = layout.p, layout.q, layout.foster
    loss = 0.0
    for c in range(3):
        row = 0 if c < 2 else 1
        for k in range(cables.start.size):
            lo, hi = cables.first[k], cables.first[k + 1]
            loss += oscillator_update(
                coef.kf[row, lo:hi], coef.kt[row, lo:hi], coef.cq[row, lo:hi], cables.w[row, lo:hi],
                cables.a[row, lo:hi], cables.b[row, lo:hi], coef.d, x[c, cables.start[k]], x[c, cables.end[k]],
                history[c, lo:hi], e[c, at_q + lo:at_q + hi], x[c, at_p + lo:at_p + hi], x[c, at_q + lo:at_q + hi])
            if cables.branch[k + 1] > cables.branch[k]:
                y_lo, y_hi = at_y + cables.foster[k], at_y + cables.foster[k + 1]
                b_lo, b_hi = cables.branch[k], cables.branch[k + 1]
                loss += branch_update(coef.yc[row, b_lo:b_hi], coef.yh[row, b_lo:b_hi], cables.alpha[row, b_lo:b_hi],
                                      cables.beta[row, b_lo:b_hi], e[c, y_lo:y_hi], x[c, at_p + lo:at_p + hi],
                                      x[c, y_lo:y_hi])
    return loss


@inlined
def link_history(layout, links, link_y, d, push, push_zero, e, rhs, j):
    """Link currents j at zero node voltage, and what they take from the nodes; push is (B,) complex emf."""
    for b in range(links.start.size):
        for c in range(3):
            row = 0 if c < 2 else 1
            source = push[b].real if c == 0 else (push[b].imag if c == 1 else push_zero[b])
            e_i, e_u = e[c, layout.link + b], e[c, layout.capacitor + b]
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
def link_update(layout, links, link_y, d, push, push_zero, e, j, x):
    """New link currents and capacitor voltages; returns (source power, loss)."""
    delivered, loss = 0.0, 0.0
    for b in range(links.start.size):
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
            x[c, layout.link + b] = i
            x[c, layout.capacitor + b] = e[c, layout.capacitor + b] + d * links.s[row, b] * i
            loss += links.r[row, b] * i * i
        delivered += push[b].real * x[0, layout.link + b] + push[b].imag * x[1, layout.link + b]
        delivered += push_zero[b] * x[2, layout.link + b]
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


@inner_fused
def multiply(z, rhs, x):
    """Node voltages, the first columns of x, from the currents into the nodes."""
    n = rhs.shape[1]
    flat = rhs.reshape(rhs.size)
    size = flat.size
    for c in range(3):
        for r in range(n):
            line = z[c * n + r]
            t0, t1, t2, t3 = 0.0, 0.0, 0.0, 0.0     # four sums at once, in an order that is always the same
            k = 0
            while k + 3 < size:
                t0 += line[k] * flat[k]
                t1 += line[k + 1] * flat[k + 1]
                t2 += line[k + 2] * flat[k + 2]
                t3 += line[k + 3] * flat[k + 3]
                k += 4
            while k < size:
                t0 += line[k] * flat[k]
                k += 1
            x[c, r] = (t0 + t1) + (t2 + t3)


@inlined
def node_loss(node_g, x):
    """Power in the conductances to earth. [W]"""
    loss = 0.0
    for c in range(3):
        row = 0 if c < 2 else 1
        for n in range(node_g.shape[1]):
            loss += node_g[row, n] * x[c, n] * x[c, n]
    return loss
