"""The linear part of one implicit stage of the envelope engine: coefficients and history currents."""

from typing import NamedTuple

import numpy as np

from sim.kernels.elements.machine import reciprocal
from sim.kernels.jit import inner, inner_fused
from sim.kernels.small import invert


class Linear(NamedTuple):
    """Coefficients of a stage for one d = gamma h and one set of frame speeds."""

    link_y: np.ndarray          # (B,)
    link_q: np.ndarray          # (B,)
    kp: np.ndarray              # (M,)
    kq: np.ndarray
    kf: np.ndarray
    kt: np.ndarray
    cq: np.ndarray
    yc: np.ndarray              # (branches,)
    yh: np.ndarray              # (branches,)
    y: np.ndarray               # (N, N)
    z: np.ndarray               # (N, N)
    w: np.ndarray               # (I,) frame speed


@inner
def set_coefficients(nodes, links, cables, switches, closed, d, linear):
    """Link, oscillator and junction coefficients for d = gamma h at the frame speeds."""
    y = linear.y
    for r in range(y.shape[0]):
        for c in range(y.shape[0]):
            y[r, c] = 0.0
        y[r, r] = nodes.c[0, r] * (1.0 / d + 1j * linear.w[nodes.island[r]]) + nodes.g[0, r]
    for b in range(links.start.size):
        turn = 1.0 + 1j * linear.w[links.island[b]] * d
        back = reciprocal(turn)
        yb = d * reciprocal(links.l[0, b] * turn + d * links.r[0, b] + d * d * links.s[0, b] * back)
        linear.link_q[b] = back
        linear.link_y[b] = yb
        f, t, wf, wt = links.start[b], links.end[b], links.wf[b], links.wt[b]
        if f >= 0:
            y[f, f] += np.conj(wf) * wf * yb
        if t >= 0:
            y[t, t] += np.conj(wt) * wt * yb
        if f >= 0 and t >= 0:
            y[f, t] += np.conj(wf) * wt * yb
            y[t, f] += np.conj(wt) * wf * yb
    for k in range(cables.start.size):
        f, t = cables.start[k], cables.end[k]
        jw = 1j * linear.w[cables.island[k]]
        ff, ft, tt, fosters = 0.0j, 0.0j, 0.0j, 0.0j
        for b in range(cables.branch[k], cables.branch[k + 1]):
            alpha, beta = cables.alpha[0, b], cables.beta[0, b]
            yc = reciprocal(1.0 + d * (alpha + jw))
            linear.yc[b] = yc
            linear.yh[b] = d * beta * yc
            fosters += beta * beta * (1.0 / alpha - d * yc)
        for m in range(cables.first[k], cables.first[k + 1]):
            dw = d * cables.w[0, m]
            cq = reciprocal(1.0 + d * (cables.b[0, m] + jw))
            kp = reciprocal(1.0 + d * (cables.a[0, m] + fosters + jw) + dw * dw * cq)
            linear.cq[m] = cq
            linear.kp[m] = kp
            linear.kq[m] = kp * dw * cq
            linear.kf[m] = kp * d * cables.gf[0, m]
            linear.kt[m] = kp * d * cables.gt[0, m]
            ff += cables.gf[0, m] * linear.kf[m]
            ft += cables.gf[0, m] * linear.kt[m]
            tt += cables.gt[0, m] * linear.kt[m]
        y[f, f] += ff
        y[f, t] += ft
        y[t, f] += ft
        y[t, t] += tt
    for q in range(switches.start.size):
        if closed[q] == 1:
            f, t, g = switches.start[q], switches.end[q], switches.g[q]
            y[f, f] += g
            if t >= 0:
                y[t, t] += g
                y[f, t] -= g
                y[t, f] -= g
    invert(y, linear.z)


@inner
def take_current(links, b, j, rhs):
    """What a current j in link b takes from its nodes."""
    if links.start[b] >= 0:
        rhs[links.start[b]] -= np.conj(links.wf[b]) * j
    if links.end[b] >= 0:
        rhs[links.end[b]] -= np.conj(links.wt[b]) * j


@inner
def link_push(layout, links, linear, d, b, e):
    """Voltage that the explicit part of link b adds to its drop."""
    return links.l[0, b] / d * e[layout.link + b] - linear.link_q[b] * e[layout.capacitor + b]


@inner_fused
def linear_history(layout, node_c, links, cables, d, linear, e, rhs, history):
    """Norton currents of nodes, links (without sources) and cables for the explicit part e."""
    for n in range(rhs.size):
        rhs[n] = node_c[0, n] / d * e[n]
    for b in range(links.start.size):
        push = links.l[0, b] / d * e[layout.link + b] - linear.link_q[b] * e[layout.capacitor + b]
        take_current(links, b, linear.link_y[b] * push, rhs)
    for k in range(cables.start.size):
        jf, jt = 0.0j, 0.0j
        lo, size = cables.first[k], cables.first[k + 1] - cables.first[k]
        for m in range(lo, lo + size):
            history[m] = e[layout.p + m]
        for b in range(cables.branch[k], cables.branch[k + 1]):
            y = layout.foster + cables.foster[k] + (b - cables.branch[k]) * size - lo
            for m in range(lo, lo + size):
                history[m] += linear.yh[b] * e[y + m]
        for m in range(lo, lo + size):
            value = linear.kp[m] * history[m] - linear.kq[m] * e[layout.q + m]
            history[m] = value
            jf += cables.gf[0, m] * value
            jt += cables.gt[0, m] * value
        rhs[cables.start[k]] += jf
        rhs[cables.end[k]] += jt


@inner
def row_times(z, n, rhs):
    total = 0.0j
    for k in range(rhs.size):
        total += z[n, k] * rhs[k]
    return total
