"""Coefficients of the waveform engine for each step length and position of the poles."""

import numpy as np

from sim.errors import SolveError
from sim.kernels.waveform.stage import Coefficients
from sim.network.tables import CLARKE

MOST_KEPT, MOST_STEPS = 1024, 16


class CoefficientCache:
    """Coefficients per (step, pole conductances), the `most` of them; the linear parts per step are shared."""

    def __init__(self, network, method, most=MOST_KEPT):
        self.network, self.tables, self.most = network, network.tables, most
        self.gamma = method.gamma
        self.parts = {}
        self.full = {}
        self.factorisations = 0

    def get(self, h, pole_g):
        key = (h, pole_g.tobytes())
        if key not in self.full:
            if len(self.full) > self.most:
                self.full.clear()
            self.full[key] = self._build(h, pole_g)
        return self.full[key]

    def _build(self, h, pole_g):
        if h not in self.parts:
            if len(self.parts) > MOST_STEPS:
                self.parts.clear()
            self.parts[h] = stage_parts(self.tables, self.gamma * h)
        parts = self.parts[h]
        y = parts["junction"].copy()
        add_poles(y, self.tables, pole_g)
        self.factorisations += 1
        z = invert_junction(y, self.network.node_names)
        modes = (parts[k] for k in ("kp", "kq", "kf", "kt", "cq", "yc", "yh"))
        return Coefficients(h, self.gamma * h, parts["link_y"], *modes, z, *port_matrices(self.tables, z),
                            pole_g.copy())


def stage_parts(tables, d):
    """Link and oscillator coefficients of a stage with d = gamma h, and the junction matrix without poles."""
    links, cables = tables.links, tables.cables
    link_y = d / (links.l + d * links.r + d * d * links.s)
    cq = 1.0 / (1.0 + d * cables.b)
    yc = 1.0 / (1.0 + d * cables.alpha)
    counts, branches = np.diff(cables.first), np.diff(cables.branch)
    owner = np.repeat(np.arange(len(counts)), branches)
    fosters = np.zeros((2, len(counts)))
    for row in range(2):
        np.add.at(fosters[row], owner, (cables.beta**2 * (1.0 / cables.alpha - d * yc))[row])
    k = 1.0 / (1.0 + d * (cables.a + np.repeat(fosters, counts, axis=1)) + (d * cables.w) ** 2 * cq)
    parts = {"link_y": link_y, "yc": yc, "yh": d * cables.beta * yc, "kp": k, "kq": k * d * cables.w * cq, "cq": cq,
             "kf": k * d * cables.gf, "kt": k * d * cables.gt}
    parts["junction"] = junction_matrix(tables, d, link_y, parts["kf"], parts["kt"])
    return parts


def junction_matrix(tables, d, link_y, kf, kt):
    """Admittance matrix of all nodes in Clarke coordinates, shape (3N, 3N), component-major. [S]"""
    nodes, links, cables = tables.nodes, tables.links, tables.cables
    n = nodes.c.shape[1]
    y = np.zeros((3 * n, 3 * n))
    for c in range(3):
        row = 0 if c < 2 else 1
        at = np.arange(n) + c * n
        y[at, at] += nodes.c[row] / d + nodes.g[row]
        for k in range(len(cables.start)):
            span = slice(cables.first[k], cables.first[k + 1])
            f, t = c * n + cables.start[k], c * n + cables.end[k]
            gf, gt = cables.gf[row, span], cables.gt[row, span]
            y[f, f] += gf @ kf[row, span]
            y[f, t] += gf @ kt[row, span]
            y[t, f] += gt @ kf[row, span]
            y[t, t] += gt @ kt[row, span]
    for b in range(len(links.start)):
        ends = [(links.start[b], links.wf[b], links.zf[b]), (links.end[b], links.wt[b], links.zt[b])]
        ends = [end for end in ends if end[0] >= 0]
        for p, wp, zp in ends:
            for q, wq, zq in ends:
                block = np.conj(wp) * wq * link_y[0, b]
                y[p, q] += block.real
                y[n + p, n + q] += block.real
                y[p, n + q] -= block.imag
                y[n + p, q] += block.imag
                y[2 * n + p, 2 * n + q] += zp * zq * link_y[1, b]
    return y


def add_poles(y, tables, pole_g):
    """Add pole conductances (phase quantities) to the junction matrix in place.

    The poles of a fault meet in a star point, which is eliminated: G = diag(g) - g g^T / (sum of g + earth).
    """
    n = tables.nodes.c.shape[1]
    rows = np.arange(3) * n
    for q in range(len(tables.switches.start)):
        if not pole_g[q].any():
            continue
        conductance = np.diag(pole_g[q])
        if tables.switches.star[q] >= 0.0:
            conductance -= np.outer(pole_g[q], pole_g[q]) / (pole_g[q].sum() + tables.switches.star[q])
        block = CLARKE @ conductance @ CLARKE.T
        f, t = rows + tables.switches.start[q], rows + tables.switches.end[q]
        y[np.ix_(f, f)] += block
        if tables.switches.end[q] < 0:
            continue
        y[np.ix_(t, t)] += block
        y[np.ix_(f, t)] -= block
        y[np.ix_(t, f)] -= block


def invert_junction(y, names):
    """Inverse of the junction matrix, scaled symmetrically first so that widely different admittances keep
    their digits.

    Parameters
    ----------
    y : ndarray, shape (3N, 3N)
    names : sequence of str
        Of the nodes.

    Raises
    ------
    SolveError
        If the matrix is singular; names the node that moves most without a current.
    """
    scale = 1.0 / np.sqrt(np.abs(np.diag(y)) + 1e-300)
    try:
        z = np.linalg.inv(y * scale[:, None] * scale) * scale[:, None] * scale
    except np.linalg.LinAlgError:
        z = np.full_like(y, np.nan)
    if not np.isfinite(z).all():
        free = np.abs(np.linalg.svd(np.nan_to_num(y))[2][-1])
        raise SolveError(names[int(np.argmax(free)) % len(names)], 0.0,
                         "the network matrix is singular: give the node a stray capacitance or a path to earth")
    return np.ascontiguousarray(z)


def port_matrices(tables, z):
    """Transfer resistances between nonlinear ports and machines (alpha, beta of each): zpp, zpm, zmp, zmm. [ohm]"""
    n = tables.nodes.c.shape[1]
    p, m = np.arange(len(tables.ports.node)), np.arange(len(tables.machines.node))
    ports, machines = np.zeros((len(p), 3 * n)), np.zeros((2 * len(m), 3 * n))
    for c in range(3):
        ports[p, c * n + tables.ports.node] = tables.ports.weight[:, c]
    for c in range(2):
        machines[2 * m + c, c * n + tables.machines.node] = 1.0
    return tuple(np.ascontiguousarray(rows @ z @ columns.T) for rows, columns in
                 ((ports, ports), (ports, machines), (machines, ports), (machines, machines)))
