"""What a source feeds, reduced to what saturates: the cores of transformers and the main paths of the motors.

At one frequency everything else is linear.  The nodal matrix of the network, with the circuit of every motor at a slip
added, is solved once for each frequency: it leaves the voltages that the source alone would cause, and what a current
drawn at each saturable path changes.  A saturated path of flux a is an admittance slope(a)/(j w) there
(`sim.phasors.saturation`), so that the fluxes of the paths are the only unknowns left (`sim.phasors.fluxes`).
"""

from typing import Any, NamedTuple

import numpy as np

from sim.kernels.columns import KNEES
from sim.network.build import Network
from sim.phasors.machines import find_branches, find_pull
from sim.phasors.nodal import find_fed, join, link_admittance, nodal_matrix, spread


class Paths(NamedTuple):
    """Everything that saturates and whatever flux is watched: main paths of the machines first, then windings.

    Attributes
    ----------
    names : tuple of str
        Machine, or "transformer.from", "transformer.to", or a shunt reactor.
    knee : ndarray, shape (P, KNEES)
        Magnitudes of the flux at which the curve bends, infinite: none. [V s]
    excess : ndarray, shape (P, KNEES)
        What each adds to the inverse inductance. [1/H]
    is_core : ndarray of bool, shape (P,)
        Whether the path is a core's, with the describing function of three limbs.
    rated : ndarray, shape (P,)
        Flux at rated voltage and the rated frequency of the path's own island. [V s]
    """

    names: tuple
    knee: np.ndarray
    excess: np.ndarray
    is_core: np.ndarray
    rated: np.ndarray


class Reduced(NamedTuple):
    """One source and what it feeds at F frequencies, with A machines, N nodes and P paths.

    Attributes
    ----------
    hz : ndarray, shape (F,)
    open_v : ndarray, shape (F, P), complex
        Voltage of each path for one volt of the source, no path saturated. [1]
    open_node : ndarray, shape (F, N), complex
        Voltage of each node likewise. [1]
    open_i : ndarray, shape (F,), complex
        Current of the source likewise. [S]
    z : ndarray, shape (F, P, P), complex
        Voltage that a current drawn at a path takes away at each. [ohm]
    z_node : ndarray, shape (F, N, P), complex
    share : ndarray, shape (F, P), complex
        Current of the source for a current drawn at a path. [1]
    pull : ndarray, shape (F, A)
        Torque of each machine for the square of its path's voltage. [N m/V2]
    paths : Paths
    node_names : tuple of str
    """

    hz: np.ndarray
    open_v: np.ndarray
    open_node: np.ndarray
    open_i: np.ndarray
    z: np.ndarray
    z_node: np.ndarray
    share: np.ndarray
    pull: np.ndarray
    paths: Paths
    node_names: tuple


def reduce_network(network: Network, source: int, closed: np.ndarray, hz: np.ndarray, slip: float) -> Reduced:
    """Reduce what a source feeds to its saturable paths.

    Parameters
    ----------
    network : Network
    source : int
        Its row; no other feeds the same nodes.
    closed : ndarray of bool, shape (Q,)
        Position of every switch.
    hz : ndarray, shape (F,)
        > 0
    slip : float
        Of all machines, 1 at standstill. [pu]

    Valid for
    ---------
    Balanced sinusoids in the steady state; skin effect of the cables as in their tables.

    Checked by
    ----------
    tests/studies/test_window.py
    """
    t, hz = network.tables, np.asarray(hz, dtype=float)
    fed = find_fed(network, source, closed)
    nodes, machines = np.flatnonzero(fed).tolist(), np.flatnonzero(fed[t.machines.node]).tolist()
    links = [b for b in list_windings(network) if fed[t.links.start[b]]]
    paths, names = list_paths(network, machines, links), tuple(network.node_names[n] for n in nodes)
    s, at = 2j * np.pi * hz, {node: k for k, node in enumerate(nodes)}
    n, gaps = len(nodes), len(machines)
    y = np.zeros((len(hz), *(n + gaps + len(links),) * 2), dtype=complex)
    y[:, :n, :n] = nodal_matrix(network, spread(network, s), closed)[:, fed][:, :, fed]
    pulls = [expose_gap(y, at[t.machines.node[m]], n + k, t.machines, m, s, slip) for k, m in enumerate(machines)]
    behind = [expose_flux(y, at[t.links.start[b]], n + gaps + k, t, b, s) for k, b in enumerate(links)]
    pull = np.array(pulls, dtype=float).reshape(gaps, len(hz)).T
    ports = [*range(n, n + gaps), *behind]
    node, admittance = at[t.links.end[t.sources.link[source]]], link_admittance(t, t.sources.link[source], s)
    right = np.zeros((*y.shape[:2], 1 + len(ports)), dtype=complex)
    right[:, node, 0] = admittance
    right[:, ports, range(1, 1 + len(ports))] = 1.0
    x = np.linalg.solve(y, right)
    return Reduced(hz, x[:, ports, 0], x[:, :n, 0], admittance * (1.0 - x[:, node, 0]), x[:, ports, 1:], x[:, :n, 1:],
                   admittance[:, None] * x[:, node, 1:], pull, paths, names)


def list_windings(network: Network) -> list[int]:
    """Links that stand for a transformer's winding, and those that saturate."""
    named = {b for b, name in enumerate(network.link_names) if name.endswith((".core_from", ".core_to"))}
    return sorted(named | set(network.tables.cores.link.tolist()))


def list_paths(network: Network, machines: list[int], links: list[int]) -> Paths:
    """Paths of some machines and links."""
    t, count, w = network.tables, len(machines), network.tables.islands.w
    rows = {int(b): k for k, b in enumerate(t.cores.link)}
    straight = np.full(KNEES, np.inf), np.zeros(KNEES)
    cores = [(t.cores.knee[rows[b]], t.cores.excess[rows[b]]) if b in rows else straight for b in links]
    knee = [*t.machines.knee[machines], *(core[0] for core in cores)]
    excess = [*t.machines.excess[machines], *(core[1] for core in cores)]
    rated = [*network.node_volts[t.machines.node[machines]] / w[t.machines.island[machines]],
             *network.link_volts[links] / w[t.links.island[links]]]
    names = [*(network.machine_names[m] for m in machines),
             *(network.link_names[b].replace(".core_", ".") for b in links)]
    return Paths(tuple(names), np.reshape(knee, (-1, KNEES)), np.reshape(excess, (-1, KNEES)),
                 np.arange(len(names)) >= count, np.array(rated))


def expose_gap(y: np.ndarray, node: int, gap: int, machines: Any, m: int, s: np.ndarray, slip: float) -> np.ndarray:
    """Join the circuit of machine m at a slip to matrices; returns its torque per square of the gap's voltage."""
    branches = find_branches(machines, m, s, slip)
    join(y, node, gap, branches.stator)
    y[..., gap, gap] += branches.gap
    return find_pull(machines, m, s, branches)


def expose_flux(y: np.ndarray, node: int, inner: int, tables: Any, b: int, s: np.ndarray) -> int:
    """Row whose voltage drives the flux of link b: its node, or one behind the link's resistance."""
    r, inductance = tables.links.r[0, b], tables.links.l[0, b]
    if r == 0.0:
        y[..., inner, inner] = 1.0      # a row of its own that nothing meets
        return node
    y[..., node, node] -= link_admittance(tables, b, s)
    join(y, node, inner, 1.0 / r)
    y[..., inner, inner] += 1.0 / (s * inductance)
    return inner
