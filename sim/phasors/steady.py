"""Sinusoidal steady state of the linear network: the first state of a running grid."""

import numpy as np

from sim.errors import SolveError
from sim.kernels.columns import SOURCE_GRID
from sim.params.cable.modes import CableModes, modal_admittance


def cable_admittance(tables, k, s, row=0):
    """Two-port admittance of cable k at complex frequency s [rad/s], shape (2, 2). [S]

    The end capacitances are left out: they belong to the nodes.
    """
    cables = tables.cables
    span, part = (slice(first[k], first[k + 1]) for first in (cables.first, cables.branch))
    modes = CableModes(cables.w[row, span], cables.gf[row, span], cables.gt[row, span], 0.0,
                       cables.a[row, span.start], cables.b[row, span.start], cables.alpha[row, part],
                       cables.beta[row, part])
    return modal_admittance(modes, np.array([s]))[0]


def nodal_matrix(network, s, closed, row=0):
    """Admittance matrix of all nodes, without machines. [S]

    Parameters
    ----------
    s : ndarray, shape (I,), complex
        Complex frequency of each island. [rad/s]
    closed : ndarray of bool, shape (Q,)
        Position of every switch.
    row : int
        0 positive sequence, 1 zero sequence.
    """
    t = network.tables
    at = s[t.nodes.island]
    y = np.diag(at * t.nodes.c[row] + t.nodes.g[row]).astype(complex)
    for k, (f, to) in enumerate(zip(t.cables.start, t.cables.end)):
        y[np.ix_([f, to], [f, to])] += cable_admittance(t, k, s[t.cables.island[k]], row)
    for b in range(len(t.links.start)):
        weights = (t.links.wf[b], t.links.wt[b]) if row == 0 else (t.links.zf[b], t.links.zt[b])
        admittance = link_admittance(t, b, s[t.links.island[b]], row)
        ends = [(n, w) for n, w in zip((t.links.start[b], t.links.end[b]), weights) if n >= 0]
        for p, wp in ends:
            for q, wq in ends:
                y[p, q] += np.conj(wp) * wq * admittance
    for q in np.flatnonzero(closed):
        f, to, g = t.switches.start[q], t.switches.end[q], t.switches.g[q]
        y[np.ix_([f, to], [f, to])] += g * np.array([[1.0, -1.0], [-1.0, 1.0]])
    return y


def link_admittance(tables, b, s, row=0):
    """Series admittance of link b. [S]"""
    return 1.0 / (tables.links.r[row, b] + s * tables.links.l[row, b] + tables.links.s[row, b] / s)


def steady_state(network, closed, frame_w):
    """State x of the envelope engine with all grids live, no machine current and no power taken by front ends.

    Parameters
    ----------
    closed : ndarray of bool, shape (Q,)
    frame_w : ndarray, shape (I,)
        Angular frequency of each island; islands at rest (0) stay dead. [rad/s]

    Returns
    -------
    x : ndarray, shape (n,), complex

    Raises
    ------
    SolveError
        If the network has no unique steady state.
    """
    t = network.tables
    s = 1j * np.where(frame_w > 0.0, frame_w, 1.0)
    y = nodal_matrix(network, s, closed)
    current = np.zeros(len(y), dtype=complex)
    emf = np.zeros(len(t.links.start), dtype=complex)
    for source, b in enumerate(t.sources.link):
        if t.sources.kind[source] == SOURCE_GRID:
            emf[b] = t.sources.volts[source]
            push = link_admittance(t, b, s[t.links.island[b]]) * emf[b]
            for n, w in ((t.links.start[b], t.links.wf[b]), (t.links.end[b], t.links.wt[b])):
                if n >= 0:
                    current[n] -= np.conj(w) * push
    fronts = [(n, b) for n, b in zip(t.drives.front_node, t.drives.front) if b >= 0]
    for n, b in fronts:                     # front ends wait without current, at the voltage of their nodes
        y[n, n] -= link_admittance(t, b, s[t.links.island[b]])
    try:
        v = np.linalg.solve(y, current)
    except np.linalg.LinAlgError:
        remedy = "no steady state before the first event: a loss-free resonance, or a node without any path"
        raise SolveError("network", 0.0, remedy) from None
    for n, b in fronts:
        emf[b] = v[n]
    return _fill_state(network, s, v, emf)


def _fill_state(network, s, v, emf):
    """Branch states that go with node voltages v."""
    t = network.tables
    n_links = len(t.links.start)
    i, u = np.zeros(n_links, dtype=complex), np.zeros(n_links, dtype=complex)
    for b in range(n_links):
        drop = emf[b]
        for n, w in ((t.links.start[b], t.links.wf[b]), (t.links.end[b], t.links.wt[b])):
            if n >= 0:
                drop += w * v[n]
        at = s[t.links.island[b]]
        i[b] = link_admittance(t, b, at) * drop
        u[b] = t.links.s[0, b] * i[b] / at
    at = np.repeat(s[t.cables.island], np.diff(t.cables.first))
    vf = np.repeat(v[t.cables.start], np.diff(t.cables.first))
    vt = np.repeat(v[t.cables.end], np.diff(t.cables.first))
    drive = -(t.cables.gf[0] * vf + t.cables.gt[0] * vt)
    parts = [slice(*pair) for pair in zip(t.cables.branch, t.cables.branch[1:])]
    spans = [slice(*pair) for pair in zip(t.cables.first, t.cables.first[1:])]
    rate = np.zeros_like(at)
    for part, span in zip(parts, spans):
        alpha, beta = t.cables.alpha[0, part], t.cables.beta[0, part]
        rate[span] = np.sum(beta**2 / alpha * at[span, None] / (at[span, None] + alpha), axis=1)
    p = drive / (at + t.cables.a[0] + rate + t.cables.w[0] ** 2 / (at + t.cables.b[0]))
    q = t.cables.w[0] * p / (at + t.cables.b[0])
    y = [beta * p[span] / (at[span] + alpha) for part, span in zip(parts, spans)
         for alpha, beta in zip(t.cables.alpha[0, part], t.cables.beta[0, part])]
    return np.concatenate([v, i, u, p, q, *y, np.zeros(3 * len(t.machines.node))])
