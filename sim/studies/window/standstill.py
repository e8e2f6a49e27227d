"""What a drive sees with all rotors at standstill, and once they turn: phasors reduced to what saturates.

At one frequency everything is linear but the cores of transformers and the main paths of the motors.  The nodal matrix
of the network, with the circuit of every motor at slip 1 added, is solved once for each frequency: it leaves the
voltages that the drive alone would cause, and what a current drawn at each saturable path changes.  A saturated path
of flux a is an admittance slope(a)/(j w) there, with the describing function of `sim.kernels.envelope.ports` for a
core and the two straight lines of `sim.kernels.elements.machine` for a motor, so that the fluxes of the paths are the
only unknowns of a point of the map.

Once a motor turns it draws little, the drops of a boosted start are gone and the flux everywhere rises: the same
network with idle motors (slip 0) is reduced beside it, for the flux alone.

Voltages are line-to-line RMS, currents sqrt(3) times the RMS phase current, as in `sim.network.tables`.

Source of the motor's circuit: A. E. Fitzgerald, C. Kingsley, S. D. Umans, *Electric Machinery*, 6th ed., section 6.4,
with the cages in parallel behind the magnetising reactance.
"""

from typing import Any, NamedTuple

import numpy as np

from sim.engines.run.orders import list_orders
from sim.network.build import Network
from sim.phasors.steady import link_admittance, nodal_matrix


class Paths(NamedTuple):
    """Everything that saturates and whatever flux is watched: main paths of the machines first, then windings.

    Attributes
    ----------
    names : tuple of str
        Machine, or "transformer.from", "transformer.to", or a shunt reactor.
    knee : ndarray, shape (P,)
        Magnitude of the flux at the knee. [V s]
    excess : ndarray, shape (P,)
        Inverse inductance beyond the knee less that before it. [1/H]
    is_core : ndarray of bool, shape (P,)
        Whether the path is a core's, with the describing function of three limbs.
    rated : ndarray, shape (P,)
        Rated flux. [V s]
    """

    names: tuple
    knee: np.ndarray
    excess: np.ndarray
    is_core: np.ndarray
    rated: np.ndarray


class Standstill(NamedTuple):
    """One drive and what it feeds at F frequencies, with A machines, N nodes and P paths.

    Attributes
    ----------
    hz : ndarray, shape (F,)
    open_v : ndarray, shape (F, P), complex
        Voltage of each path for one volt of the drive, no path saturated. [1]
    open_node : ndarray, shape (F, N), complex
        Voltage of each node likewise. [1]
    open_i : ndarray, shape (F,), complex
        Current of the drive likewise. [S]
    z : ndarray, shape (F, P, P), complex
        Voltage that a current drawn at a path takes away at each. [ohm]
    z_node : ndarray, shape (F, N, P), complex
    share : ndarray, shape (F, P), complex
        Current of the drive for a current drawn at a path. [1]
    pull : ndarray, shape (F, A)
        Torque of each machine for the square of its path's voltage. [N m/V2]
    paths : Paths
    node_names : tuple of str
    idle : Standstill or None
        The same with every motor at slip 0.
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
    idle: Any = None


def close_for_start(case: Any, network: Network, drive: Any) -> tuple[np.ndarray, float]:
    """Position of every switch while a drive holds its start frequency, and when the drive starts. [s]"""
    orders = list_orders(case, 0.0)
    start = next(order.t for order in orders if order.action == "start" and order.target == drive.name)
    closed = network.closed.copy()
    for order in orders:
        if order.action in ("open", "close") and order.t <= start + drive.hold_s:
            closed[network.switch_names.index(order.target)] = order.action == "close"
    closed[network.switch_names.index(drive.name)] = True
    return closed, start


def find_fed(network: Network, row: int, closed: np.ndarray) -> np.ndarray:
    """Whether closed switches, cables and links join each node to a source, shape (N,)."""
    t = network.tables
    pairs = [*zip(t.links.start, t.links.end), *zip(t.cables.start, t.cables.end),
             *((f, to) for f, to, on in zip(t.switches.start, t.switches.end, closed) if on)]
    fed = np.zeros(len(network.node_names), dtype=bool)
    source = t.sources.link[row]
    fed[max(t.links.start[source], t.links.end[source])] = True
    for _ in fed:
        for f, to in pairs:
            if f >= 0 and to >= 0 and fed[f] != fed[to]:
                fed[[f, to]] = True
    return fed


def reduce_network(network: Network, row: int, closed: np.ndarray, hz: np.ndarray) -> Standstill:
    """Reduce what a source feeds to its saturable paths.

    Parameters
    ----------
    network : Network
    row : int
        Of the source.
    closed : ndarray of bool, shape (Q,)
        Position of every switch.
    hz : ndarray, shape (F,)
        > 0

    Returns
    -------
    Standstill

    Valid for
    ---------
    Balanced sinusoids in the steady state, rotors at rest; skin effect of the cables as in their tables.
    """
    fed = find_fed(network, row, closed)
    machines = np.flatnonzero(fed[network.tables.machines.node])
    links = [b for b in list_windings(network) if fed[network.tables.links.start[b]]]
    paths = list_paths(network, machines, links)
    nodes = np.flatnonzero(fed)
    names = tuple(network.node_names[n] for n in nodes)
    hz, fed, idle = np.asarray(hz, dtype=float), (nodes, machines, links), None
    for slip in (0.0, 1.0):
        parts = [reduce_at(network, row, closed, 2j * np.pi * f, fed, slip) for f in hz]
        idle = Standstill(hz, *(np.array(part) for part in zip(*parts)), paths, names, idle)
    return idle


def list_windings(network: Network) -> list[int]:
    """Links that stand for a transformer's winding, and those that saturate."""
    named = {b for b, name in enumerate(network.link_names) if name.endswith((".core_from", ".core_to"))}
    return sorted(named | set(network.tables.cores.link.tolist()))


def list_paths(network: Network, machines: np.ndarray, links: list[int]) -> Paths:
    """Paths of the machines and links fed."""
    t, count = network.tables, len(machines)
    w = 2.0 * np.pi * network.tables.islands.w[0] / (2.0 * np.pi)
    rows = {int(b): k for k, b in enumerate(t.cores.link)}
    cores = [(t.cores.knee[rows[b]], t.cores.excess[rows[b]]) if b in rows else (np.inf, 0.0) for b in links]
    knee = [*t.machines.knee[machines], *(core[0] for core in cores)]
    excess = [*t.machines.excess[machines], *(core[1] for core in cores)]
    rated = [*network.node_volts[t.machines.node[machines]] / w, *network.link_volts[links] / w]
    names = [*(network.machine_names[m] for m in machines),
             *(network.link_names[b].replace(".core_", ".") for b in links)]
    return Paths(tuple(names), np.array(knee), np.array(excess), np.arange(len(names)) >= count, np.array(rated))


def reduce_at(network: Network, row: int, closed: np.ndarray, s: complex, fed: tuple, slip: float):
    """What `Standstill` holds of one complex frequency [rad/s], from `open_v` to `pull`."""
    nodes, machines, links = fed
    t = network.tables
    n, gaps = len(nodes), len(machines)
    y = np.zeros((n + gaps + len(links),) * 2, dtype=complex)
    every = np.full(len(t.islands.source), s)
    y[:n, :n] = nodal_matrix(network, every, closed)[np.ix_(nodes, nodes)]
    at = {node: k for k, node in enumerate(nodes)}
    pull = [add_machine(y, at[t.machines.node[m]], n + k, t.machines, m, s, slip) for k, m in enumerate(machines)]
    behind = [expose_flux(y, at[t.links.start[b]], n + gaps + k, t, b, s) for k, b in enumerate(links)]
    ports = [*range(n, n + gaps), *behind]
    source = t.sources.link[row]
    node, admittance = at[t.links.end[source]], link_admittance(t, source, s)
    right = np.zeros((len(y), 1 + len(ports)), dtype=complex)
    right[node, 0] = admittance
    right[ports, range(1, 1 + len(ports))] = 1.0
    x = np.linalg.solve(y, right)
    return (x[ports, 0], x[:n, 0], admittance * (1.0 - x[node, 0]), x[ports, 1:], x[:n, 1:], admittance * x[node, 1:],
            np.array(pull))


def add_machine(y: np.ndarray, node: int, gap: int, machines: Any, m: int, s: complex, slip: float) -> float:
    """Join the circuit of machine m at a slip to a matrix; returns its torque per square of the gap's voltage."""
    leak, r = machines.leak[m], machines.r[m]
    join(y, node, gap, 1.0 / (r[0] + s / leak[0]))
    cages = sum(slip / (r[k] + slip * s / leak[k]) for k in (1, 2) if leak[k] > 0.0)
    y[gap, gap] += cages + (machines.whole[m] - leak.sum()) / s
    return machines.pairs[m] * cages.real / s.imag


def expose_flux(y: np.ndarray, node: int, inner: int, tables: Any, b: int, s: complex) -> int:
    """Row whose voltage drives the flux of link b: its node, or one behind the link's resistance."""
    r, inductance = tables.links.r[0, b], tables.links.l[0, b]
    if r == 0.0:
        y[inner, inner] = 1.0       # a row of its own that nothing meets
        return node
    y[node, node] -= link_admittance(tables, b, s)
    join(y, node, inner, 1.0 / r)
    y[inner, inner] += 1.0 / (s * inductance)
    return inner


def join(y: np.ndarray, node: int, other: int, admittance: complex) -> None:
    """Add an admittance between two rows of a matrix."""
    for p, q, sign in ((node, node, 1.0), (other, other, 1.0), (node, other, -1.0), (other, node, -1.0)):
        y[p, q] += sign * admittance
