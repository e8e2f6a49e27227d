"""What saturated iron draws in either engine, and how the difference passes on at a hand-over."""

import numpy as np

from sim.kernels.envelope.ports import core_slope
from sim.network.layout import WINDINGS

FIRM = 1e6              # what holds two nodes together, of the largest inverse inductance


def find_limb_flux(tables, linked):
    """Flux linkage of every nonlinear port, 0 of arresters, shape (..., P). [V s]

    linked has shape (..., 3, B): link currents in Clarke coordinates. [A]
    """
    ports, links = tables.ports, tables.links
    inductance = links.l[[0, 0, 1]][:, ports.link]
    flux = ports.offset + np.sum(ports.weight.T * inductance * linked[..., ports.link], axis=-2)
    return np.where(ports.link >= 0, flux, 0.0)


def list_bends(ports, p):
    """Fluxes at which the curve of limb p bends [V s], and what each adds to its inverse inductance [1/H]."""
    span = slice(ports.first[p], ports.first[p + 1])
    x, i = ports.x[span], ports.i[span]
    return x[:-1], np.diff(np.diff(i) / np.diff(x), prepend=0.0)


def drawn_by_cores(tables, x):
    """Current that saturated cores draw beyond their links, by their fundamental, as space vectors (N,). [A]"""
    cores, out = tables.cores, np.zeros(tables.nodes.c.shape[1], dtype=complex)
    for link, knee, excess in zip(cores.link, cores.knee, cores.excess):
        flux = tables.links.l[0, link] * x[tables.layout.link + link]
        out[tables.links.start[link]] += core_slope(excess, knee, abs(flux)) * flux
    return out


def drawn_by_limbs(tables, x):
    """The same by the momentary fluxes of the limbs, and their zero sequence: (N,) complex, (N,) real. [A]"""
    ports, i = tables.ports, x[tables.layout.links]
    flux = find_limb_flux(tables, np.stack([i.real, i.imag, np.zeros(len(i))]))
    out = np.zeros((3, tables.nodes.c.shape[1]))
    for p in np.flatnonzero(ports.link >= 0):
        knees, added = list_bends(ports, p)
        current = np.sign(flux[p]) * (added @ np.maximum(np.abs(flux[p]) - knees, 0.0))
        out[:, ports.node[p]] += current * ports.weight[p]
    return out[0] + 1j * out[1], out[2]


def pass_on(network, closed, x, drawn, row=0):
    """Let what cores draw more or less after a hand-over pass to the inductances around them.

    Both engines hold the same fluxes, but a limb's momentary current is not the fundamental.  Left to the stray
    capacitances the difference would make them ring far above any real voltage.  A flux impulse at the nodes instead
    moves the currents of links and stators at once; the ends of cables take theirs as a wave.

    Parameters
    ----------
    closed : ndarray of bool, shape (Q,)
        Position of every switch.
    x : ndarray, shape (n,)
        Space vectors, or the zero sequence when `row` is 1.
    drawn : ndarray, shape (N,)
        Current that the nodes lose more than before. [A]
    """
    if not np.any(drawn):
        return x
    t, at, n_nodes = network.tables, network.tables.layout, len(drawn)
    weights = (t.links.wf, t.links.wt) if row == 0 else (t.links.zf, t.links.zt)
    ends = [[(n, w) for n, w in zip(nodes, pair) if n >= 0]
            for nodes, pair in zip(zip(t.links.start, t.links.end), zip(*weights))]
    pulled = np.flatnonzero(t.links.l[row] > 0.0)
    y = np.zeros((n_nodes, n_nodes), dtype=complex)
    for b in pulled:
        for p, wp in ends[b]:
            for q, wq in ends[b]:
                y[p, q] += np.conj(wp) * wq / t.links.l[row, b]
    if row == 0:
        y[t.machines.node, t.machines.node] += t.machines.gamma[:, 0, 0]
    firm = FIRM * np.abs(y).max()
    for q in np.flatnonzero(closed):
        pair = [n for n in (t.switches.start[q], t.switches.end[q]) if n >= 0]
        y[np.ix_(pair, pair)] += firm * np.array([[1.0, -1.0], [-1.0, 1.0]])[:len(pair), :len(pair)]
    held = np.union1d(t.cables.start, t.cables.end).astype(np.int64)
    y[held, held] += firm
    y[np.diag_indices(n_nodes)] += firm / FIRM**2           # a node without any inductance keeps what it has
    impulse = np.linalg.solve(y, -drawn)
    x = x.astype(impulse.dtype if row == 0 else float)
    for b in pulled:
        across = sum(w * impulse[n] for n, w in ends[b])
        x[at.link + b] += (across if row == 0 else across.real) / t.links.l[row, b]
    if row == 0:
        x[at.flux::WINDINGS] += impulse[t.machines.node]        # stators
    return x


def core_flux(tables, x):
    """Magnitude of the flux linkage of every core in an envelope state x, shape (W,). [V s]"""
    link = tables.cores.link
    return tables.links.l[0, link] * np.abs(x[tables.layout.link + link])
