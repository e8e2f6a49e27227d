"""Nodal admittances of the network at complex frequencies: cables as two-ports, links, switches; what sources push."""

from typing import Any

import numpy as np

from sim.network.build import Network
from sim.params.cable.modes import CableModes, modal_admittance

POSITIVE, ZERO = 0, 1


def spread(network: Network, s: Any) -> np.ndarray:
    """The same complex frequency in all islands, shape (..., I) from (...). [rad/s]"""
    s = np.asarray(s, dtype=complex)
    return np.broadcast_to(s[..., None], (*s.shape, len(network.tables.islands.source)))


def cable_admittance(tables: Any, k: int, s: Any, row: int = POSITIVE) -> np.ndarray:
    """Two-port admittance of cable k at complex frequencies s [rad/s], shape (..., 2, 2). [S]

    The end capacitances are left out: they belong to the nodes.
    """
    cables, s = tables.cables, np.asarray(s, dtype=complex)
    span, part = (slice(first[k], first[k + 1]) for first in (cables.first, cables.branch))
    modes = CableModes(cables.w[row, span], cables.gf[row, span], cables.gt[row, span], 0.0,
                       cables.a[row, span.start], cables.b[row, span.start], cables.alpha[row, part],
                       cables.beta[row, part])
    return modal_admittance(modes, s.ravel()).reshape(*s.shape, 2, 2)


def link_admittance(tables: Any, b: int, s: Any, row: int = POSITIVE) -> Any:
    """Series admittance of link b at complex frequencies s [rad/s]. [S]"""
    return 1.0 / (tables.links.r[row, b] + s * tables.links.l[row, b] + tables.links.s[row, b] / s)


def list_ends(tables: Any, b: int, row: int = POSITIVE) -> list[tuple[int, complex]]:
    """Nodes that link b joins and the weights it sees them with; earth is left out."""
    links = tables.links
    weights = (links.wf[b], links.wt[b]) if row == POSITIVE else (links.zf[b], links.zt[b])
    return [(n, weight) for n, weight in zip((links.start[b], links.end[b]), weights) if n >= 0]


def join(y: np.ndarray, node: int, other: int, admittance: Any) -> None:
    """Add an admittance [S], shape (...), between two rows of matrices, shape (..., N, N)."""
    for p, q, sign in ((node, node, 1.0), (other, other, 1.0), (node, other, -1.0), (other, node, -1.0)):
        y[..., p, q] += sign * admittance


def nodal_matrix(network: Network, s: Any, closed: np.ndarray, row: int = POSITIVE,
                 fronts: bool = True) -> np.ndarray:
    """Admittance matrices of all nodes, without machines, sources short-circuited.

    Parameters
    ----------
    network : Network
    s : ndarray, shape (..., I), complex
        Complex frequency of each island, not 0. [rad/s]
    closed : ndarray of bool, shape (Q,)
        Position of every switch.
    row : int
        0 positive sequence, 1 zero sequence.
    fronts : bool
        Front ends of drives as short circuits behind their reactance; otherwise they take no current.

    Returns
    -------
    y : ndarray, shape (..., N, N), complex
        [S]

    Valid for
    ---------
    Linear iron, arresters open.

    Checked by
    ----------
    tests/phasors, tests/studies/scan/test_response.py
    """
    t, s = network.tables, np.asarray(s, dtype=complex)
    at, nodes = s[..., t.nodes.island], np.arange(len(t.nodes.island))
    y = np.zeros((*at.shape, len(nodes)), dtype=complex)
    y[..., nodes, nodes] = at * t.nodes.c[row] + t.nodes.g[row]
    for k, ends in enumerate(zip(t.cables.start, t.cables.end)):
        block = cable_admittance(t, k, s[..., t.cables.island[k]], row)
        for i, p in enumerate(ends):
            for j, q in enumerate(ends):
                y[..., p, q] += block[..., i, j]
    waiting = set() if fronts else {int(b) for b in t.drives.front}
    for b in range(len(t.links.start)):
        if b in waiting:
            continue
        admittance = link_admittance(t, b, s[..., t.links.island[b]], row)
        for p, wp in list_ends(t, b, row):
            for q, wq in list_ends(t, b, row):
                y[..., p, q] += np.conj(wp) * wq * admittance
    for start, end, g in zip(t.switches.start[closed], t.switches.end[closed], t.switches.g[closed]):
        join(y, start, end, g)
    return y


def inject(network: Network, s: np.ndarray, emf: np.ndarray) -> np.ndarray:
    """Currents that the sources push into the nodes.

    Parameters
    ----------
    network : Network
    s : ndarray, shape (..., I), complex
        Complex frequency of each island. [rad/s]
    emf : ndarray, shape (S,), complex
        Line-to-line RMS voltage behind the impedance of every source. [V]

    Returns
    -------
    current : ndarray, shape (..., N), complex
        sqrt(3) times the RMS phase current. [A]
    """
    t = network.tables
    current = np.zeros((*s.shape[:-1], len(network.node_names)), dtype=complex)
    for row, b in enumerate(t.sources.link):
        push = link_admittance(t, b, s[..., t.links.island[b]]) * emf[row]
        for n, weight in list_ends(t, b):
            current[..., n] -= np.conj(weight) * push
    return current


def find_fed(network: Network, source: int, closed: np.ndarray) -> np.ndarray:
    """Whether closed switches, cables and links join each node to a source, shape (N,).

    Parameters
    ----------
    network : Network
    source : int
        Its row.
    closed : ndarray of bool, shape (Q,)
        Position of every switch.
    """
    t = network.tables
    pairs = [*zip(t.links.start, t.links.end), *zip(t.cables.start, t.cables.end),
             *((f, to) for f, to, on in zip(t.switches.start, t.switches.end, closed) if on)]
    fed, b = np.zeros(len(network.node_names), dtype=bool), t.sources.link[source]
    fed[max(t.links.start[b], t.links.end[b])] = True
    for _ in fed:
        for f, to in pairs:
            if f >= 0 and to >= 0 and fed[f] != fed[to]:
                fed[[f, to]] = True
    return fed
