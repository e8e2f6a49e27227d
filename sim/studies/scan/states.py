"""The linear network as one set of ordinary differential equations, for its natural frequencies.

The equations are those of the engines (`sim.network.tables`, `sim.params.cable.modes`,
`sim.kernels.elements.machine`) in one sequence and the stationary frame, sources without voltage, iron below its knee,
arresters open.  Nodes that a closed switch joins are one; a link without inductance carries its current at once and is
no state.
"""

from typing import Any

import numpy as np

from sim.network.tables import EARTH
from sim.phasors.nodal import POSITIVE
from sim.studies.scan.setting import Setting

LEAST_OHM = 1e-6        # resistance of a link that has neither resistance nor inductance


class Builder:
    """A matrix that grows by blocks of states."""

    def __init__(self, size: int):
        self.a = np.zeros((size, size), dtype=complex)
        self.used = 0

    def take(self, count: int) -> np.ndarray:
        """Columns of the next states."""
        self.used += count
        return np.arange(self.used - count, self.used)


def state_matrix(setting: Setting, row: int = POSITIVE) -> np.ndarray:
    """Matrix A of x' = A x.

    Parameters
    ----------
    setting : Setting
    row : int
        0 positive sequence, 1 zero sequence.

    Returns
    -------
    a : ndarray, shape (n, n), complex
        [1/s]; its eigenvalues are the natural frequencies, those with a negative imaginary part of the negative
        sequence.

    Checked by
    ----------
    tests/studies/scan/test_resonances.py
    """
    tables = setting.network.tables
    group = join_nodes(setting)
    count, links, cables = group.max() + 1, len(tables.links.start), tables.cables
    machines = 3 * len(tables.machines.node) if row == POSITIVE else 0
    build = Builder(count + 2 * links + 2 * cables.w.shape[1] + int(cables.foster[-1]) + machines)
    c = np.zeros(count)
    np.add.at(c, group, tables.nodes.c[row])
    build.take(count)
    for n, g in zip(group, tables.nodes.g[row]):
        build.a[n, n] -= g / c[n]
    for b in range(links):
        add_link(build, tables.links, b, row, group, c)
    for k in range(len(cables.start)):
        add_cable(build, cables, k, row, group, c)
    for m in range(machines // 3):
        add_machine(build, tables.machines, m, group[tables.machines.node[m]], c, setting.rotor[m])
    return build.a[:build.used, :build.used]


def join_nodes(setting: Setting) -> np.ndarray:
    """Number of the group of joined nodes that each node belongs to, shape (N,)."""
    switches = setting.network.tables.switches
    group = np.arange(len(setting.network.node_names))
    for q in np.flatnonzero(setting.closed):
        group[group == group[switches.end[q]]] = group[switches.start[q]]
    return np.unique(group, return_inverse=True)[1]


def list_ends(links: Any, b: int, row: int, group: np.ndarray) -> list[tuple[int, complex]]:
    """Groups that link b sees and the weights it sees them with."""
    weights = (links.wf[b], links.wt[b]) if row == POSITIVE else (links.zf[b], links.zt[b])
    return [(group[node], weight) for node, weight in zip((links.start[b], links.end[b]), weights)
            if node != EARTH and weight != 0.0]


def add_link(build: Builder, links: Any, b: int, row: int, group: np.ndarray, c: np.ndarray) -> None:
    """L di/dt = dv - R i - u and du/dt = S i, or i = (dv - u)/R where there is no inductance."""
    ends, a = list_ends(links, b, row, group), build.a
    inductance, resistance, elastance = links.l[row, b], links.r[row, b], links.s[row, b]
    if not ends:
        return
    if inductance == 0.0:
        add_resistive_link(build, ends, 1.0 / max(resistance, LEAST_OHM), elastance, c)
        return
    i, = build.take(1)
    a[i, i] = -resistance / inductance
    for n, weight in ends:
        a[i, n] += weight / inductance
        a[n, i] -= np.conj(weight) / c[n]
    if elastance:
        u, = build.take(1)
        a[i, u], a[u, i] = -1.0 / inductance, elastance


def add_resistive_link(build: Builder, ends: list, conductance: float, elastance: float, c: np.ndarray) -> None:
    """i = g (dv - u), du/dt = S i."""
    a = build.a
    for n, weight in ends:
        for k, other in ends:
            a[n, k] -= np.conj(weight) * other * conductance / c[n]
    if not elastance:
        return
    u, = build.take(1)
    a[u, u] = -elastance * conductance
    for n, weight in ends:
        a[u, n] += elastance * conductance * weight
        a[n, u] += np.conj(weight) * conductance / c[n]


def add_cable(build: Builder, cables: Any, k: int, row: int, group: np.ndarray, c: np.ndarray) -> None:
    """The oscillators of a cable between its end voltages, with their Foster branches."""
    span, part = (slice(first[k], first[k + 1]) for first in (cables.first, cables.branch))
    size, a = span.stop - span.start, build.a
    p, q = build.take(size), build.take(size)
    alpha, beta = cables.alpha[row, part], cables.beta[row, part]
    a[p, p] = -cables.a[row, span] - np.sum(beta**2 / alpha)
    a[q, q] = -cables.b[row, span]
    a[p, q], a[q, p] = -cables.w[row, span], cables.w[row, span]
    for n, coupling in ((group[cables.start[k]], cables.gf[row, span]), (group[cables.end[k]], cables.gt[row, span])):
        a[p, n] -= coupling
        a[n, p] += coupling / c[n]
    for rate, couple in zip(alpha, beta):
        y = build.take(size)
        a[y, y] = -rate
        a[p, y], a[y, p] = couple, couple


def add_machine(build: Builder, machines: Any, m: int, node: int, c: np.ndarray, rotor: float) -> None:
    """Flux linkages of stator and cages at a constant speed of the rotor [rad/s]."""
    size, a = int(np.count_nonzero(np.diag(machines.gamma[m]))), build.a
    flux, gamma = build.take(size), machines.gamma[m, :size, :size]
    a[np.ix_(flux, flux)] = -machines.r[m, :size, None] * gamma
    a[flux[1:], flux[1:]] += 1j * rotor
    a[flux[0], node] = 1.0
    a[node, flux] -= gamma[0] / c[node]
