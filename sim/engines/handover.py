"""States of both engines: the first state of a run, and the exact change from one engine to the other.

In a balanced network alpha + j beta in the stationary frame and the envelope in its frame hold the
same information: x_stationary = x_frame exp(j theta).  The change is lossless for positive and
negative sequence; the zero sequence exists in the waveform engine only and must have died out before
the way back.
"""

import numpy as np

from sim.kernels.columns import (
    DRIVE_SCALARS,
    DRIVE_START_HZ,
    DRIVE_STATES,
    SHAFT_FREED,
    SHAFT_LOCKED,
    SHAFT_SPEED,
    SHAFT_STATES,
    SHAFT_TWIST,
    TRAIN_INERTIA,
    X_ANGLE,
    X_ENERGY,
    X_HZ,
    X_SUPPLY,
    X_SUPPLY_Q,
)
from sim.kernels.elements.machine import main_flux
from sim.kernels.envelope.ports import core_slope
from sim.kernels.envelope.stage import EnvelopeState
from sim.kernels.waveform.stage import State
from sim.network.tables import count_columns

FIRM = 1e6              # what holds two nodes together, of the largest inverse inductance


def drive_states(network, state):
    """View of the drive states inside r, shape (D, DRIVE_STATES)."""
    return state.r[3 * len(network.machine_names):].reshape(-1, DRIVE_STATES)


def dead_state(network):
    """Everything at rest and without charge, in the envelope engine's form."""
    t = network.tables
    n, a, d, islands = count_columns(t), len(t.machines.node), len(t.sources.data), len(t.islands.source)
    shaft = np.zeros((a, SHAFT_STATES))
    shaft[:, SHAFT_LOCKED], shaft[:, SHAFT_FREED] = 1.0, -1.0
    state = EnvelopeState(
        x=np.zeros(n, complex), r=np.zeros(3 * a + DRIVE_STATES * d), slope_x=np.zeros(n, complex),
        slope_r=np.zeros(3 * a + DRIVE_STATES * d), shaft=shaft, load_factor=network.load_factor.copy(),
        seen=np.zeros((d, DRIVE_SCALARS)), drive_on=np.zeros(d, np.int64), target_hz=network.target_hz.copy(),
        live=np.ones(len(t.sources.drive), np.int64), theta=np.zeros(islands), frame_w=np.zeros(islands),
        energy=np.zeros(4), peak=np.zeros((len(network.node_names), 4)), control=np.array([2e-5, 1.0, 0.0, 0.0]))
    drives = drive_states(network, state)
    drives[:, X_HZ] = t.sources.data[:, DRIVE_START_HZ]
    return state


def turn_drives(network, drive, theta, sign):
    """Refer the angles of drives to other frames, in place: theta (I,) is added with this sign. [rad]"""
    t = network.tables
    for s, l in enumerate(t.sources.drive):
        if l >= 0:
            drive[l, X_ANGLE] += sign * theta[t.sources.island[s]]
            if t.sources.front[l] >= 0:
                seen = complex(drive[l, X_SUPPLY], drive[l, X_SUPPLY_Q])
                seen *= np.exp(1j * sign * theta[t.sources.front_island[l]])
                drive[l, X_SUPPLY:X_SUPPLY_Q + 1] = seen.real, seen.imag


def measure_drives(network, x):
    """What every drive measures: output current, supply voltage and current of its front end, shape (D, 3). [A, V, A]

    x has shape (n,): space vectors, in the frames of their islands or stationary.
    """
    t, n_nodes = network.tables, len(network.node_names)
    out = np.zeros((len(t.sources.data), 3), dtype=complex)
    for s, l in enumerate(t.sources.drive):
        if l >= 0:
            out[l, 0] = x[n_nodes + t.sources.link[s]]
            if t.sources.front[l] >= 0:
                out[l, 1:] = x[t.sources.front_node[l]], x[n_nodes + t.sources.front[l]]
    return out


def link_energy(network, drive):
    """Energy in the direct-voltage links of all drives. [J]"""
    return float(np.sum(drive[network.tables.sources.front >= 0, X_ENERGY]))


def _shared(state):
    """Fields that mean the same in both engines."""
    return {name: getattr(state, name).copy()
            for name in ("shaft", "load_factor", "drive_on", "target_hz", "live", "peak")}


def to_waveform(network, state, closed=None):
    """Waveform state at the same moment; `closed` (Q,) is the position of every switch, at first that of the case."""
    t, a = network.tables, len(network.machine_names)
    turn = np.exp(1j * state.theta)
    x = state.x * turn[t.islands.column]
    closed = network.closed if closed is None else closed
    limbs, zero = drawn_by_limbs(t, x)
    x = pass_on(network, closed, x, limbs - drawn_by_cores(t, x))
    zero = pass_on(network, closed, np.zeros(len(x)), zero, 1)
    drive = drive_states(network, state).copy()
    turn_drives(network, drive, state.theta, 1.0)
    seen = measure_drives(network, x)
    along = seen[:, 0] * np.exp(-1j * drive[:, X_ANGLE]) / np.sqrt(3.0)
    shared = _shared(state)
    shared["shaft"][:, SHAFT_SPEED:] = state.r[a:3 * a].reshape(2, a).T
    locked = (state.shaft[:, SHAFT_LOCKED] == 1.0) & (t.machines.train[:, TRAIN_INERTIA] == 0.0)
    flux = np.zeros((a, 2))
    flux[:, 0] = [main_flux(t.machines, m, *x[len(x) - 3 * (a - m):][:3]) for m in range(a)]
    return State(
        x=np.stack([x.real, x.imag, zero]), speed=state.r[:a].copy(), flux=flux,
        acceleration=np.where(locked, 0.0, state.slope_r[:a]), drive=drive,
        drive_amps=np.stack([along, along], axis=1), front=np.stack([seen[:, 1:], seen[:, 1:]], axis=1),
        energy=np.append(state.energy, 0.0),
        opening=np.zeros((len(t.switches.start), 3), np.int64), **shared)


def to_envelope(network, state, time, closed=None):
    """Envelope state at the same moment; the zero sequence is dropped.  `closed` as for `to_waveform`.

    Frames start at the angle of their source, so that a source's voltage is at rest in its frame.
    """
    t = network.tables
    theta = np.zeros(len(t.islands.source))
    drive = state.drive.copy()
    for island, s in enumerate(t.islands.source):
        if s >= 0:
            l = t.sources.drive[s]
            theta[island] = drive[l, X_ANGLE] if l >= 0 else t.sources.w[s] * time + t.sources.phase[s]
    turn_drives(network, drive, theta, -1.0)
    fresh, x = dead_state(network), state.x[0] + 1j * state.x[1]
    closed = network.closed if closed is None else closed
    x = pass_on(network, closed, x, drawn_by_cores(t, x) - drawn_by_limbs(t, x)[0])
    x = x * np.exp(-1j * theta)[t.islands.column]
    return fresh._replace(
        x=x,
        r=np.concatenate([state.speed, state.shaft[:, SHAFT_SPEED], state.shaft[:, SHAFT_TWIST], drive.ravel()]),
        slope_r=np.concatenate([state.acceleration, np.zeros(2 * len(state.speed) + drive.size)]), theta=theta,
        seen=measure_drives(network, x).view(float), energy=state.energy[:4].copy(), **_shared(state))


def drawn_by_cores(tables, x):
    """Current that saturated cores draw beyond their links, by their fundamental, as space vectors (N,). [A]"""
    cores, n_nodes = tables.cores, tables.nodes.c.shape[1]
    out = np.zeros(n_nodes, dtype=complex)
    for link, knee, excess in zip(cores.link, cores.knee, cores.excess):
        flux = tables.links.l[0, link] * x[n_nodes + link]
        out[tables.links.start[link]] += core_slope(excess, knee, abs(flux)) * flux
    return out


def drawn_by_limbs(tables, x):
    """The same by the momentary fluxes of the limbs, and their zero sequence: (N,) complex, (N,) real. [A]"""
    ports, n_nodes = tables.ports, tables.nodes.c.shape[1]
    i = x[n_nodes:n_nodes + len(tables.links.start)]
    flux = find_limb_flux(tables, np.stack([i.real, i.imag, np.zeros(len(i))]))
    out = np.zeros((3, n_nodes))
    for p in np.flatnonzero(ports.link >= 0):
        (k0, k1), (i0, i1) = ports.x[ports.first[p]:][:2], ports.i[ports.first[p]:][:2]
        current = np.sign(flux[p]) * max(abs(flux[p]) - k0, 0.0) * (i1 - i0) / (k1 - k0)
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
    t, n_nodes = network.tables, len(drawn)
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
        x[n_nodes + b] += (across if row == 0 else across.real) / t.links.l[row, b]
    if row == 0:
        np.add.at(x, len(x) - 3 * len(t.machines.node) + 3 * np.arange(len(t.machines.node)), impulse[t.machines.node])
    return x


def stored_energy(network, x):
    """Electric and magnetic energy of a state in either form. [J]

    x has shape (n,) complex (envelope) or (3, n) (waveform).
    """
    t = network.tables
    n_nodes, n_links, a = t.nodes.c.shape[1], len(t.links.start), len(t.machines.node)
    vectors = x if x.ndim == 1 else x[0] + 1j * x[1]
    rows = [np.abs(vectors) ** 2] + ([] if x.ndim == 1 else [x[2] ** 2])
    total = 0.0
    for row, size in enumerate(rows):
        u = size[n_nodes + n_links:n_nodes + 2 * n_links]
        stiff = t.links.s[row] > 0.0
        total += t.nodes.c[row] @ size[:n_nodes] + t.links.l[row] @ size[n_nodes:n_nodes + n_links]
        total += np.sum(u[stiff] / t.links.s[row][stiff]) + np.sum(size[n_nodes + 2 * n_links:len(size) - 3 * a])
    flux = vectors[len(vectors) - 3 * a:].reshape(a, 3)
    total += np.sum(np.real(np.einsum("ai,aij,aj->a", np.conj(flux), t.machines.gamma, flux)))
    total += np.sum(path_energy(t.machines, flux))
    linked = x[..., n_nodes:n_nodes + n_links]
    return 0.5 * float(total) + (envelope_energy(t, linked) if x.ndim == 1 else limb_energy(t, linked))


def path_energy(machines, flux):
    """Twice what saturation adds to the energy of each machine at given flux linkages, shape (A, 3). [J]

    The energy at given flux linkages is the least over the flux y of the main path of 1/2 sum u_k |psi_k - y|^2 + W(y);
    with z = |sum u_k psi_k| that is a constant + 1/2 D y^2 - z y + 1/2 k (y - knee)^2 beyond the knee.
    """
    z = np.abs(np.einsum("ak,ak->a", machines.leak, flux))
    plain = z / machines.whole
    bent = (z + machines.excess * machines.knee) / (machines.whole + machines.excess)
    y = np.where(plain > machines.knee, bent, plain)
    beyond = machines.excess * np.maximum(y - machines.knee, 0.0) ** 2
    return machines.whole * (y - plain) ** 2 + beyond


def find_limb_flux(tables, linked):
    """Flux linkage of every nonlinear port, 0 of arresters, shape (..., P). [V s]

    linked has shape (..., 3, B): link currents in Clarke coordinates. [A]
    """
    ports, links = tables.ports, tables.links
    inductance = links.l[[0, 0, 1]][:, ports.link]
    flux = ports.offset + np.sum(ports.weight.T * inductance * linked[..., ports.link], axis=-2)
    return np.where(ports.link >= 0, flux, 0.0)


def limb_energy(tables, linked):
    """Energy of saturated limbs beyond that of their links, for link currents of shape (3, B). [J]"""
    ports = tables.ports
    first = ports.first[:-1]
    slope = (ports.i[first + 1] - ports.i[first]) / (ports.x[first + 1] - ports.x[first])
    over = np.maximum(np.abs(find_limb_flux(tables, linked)) - ports.x[first], 0.0)
    return 0.5 * float(np.sum(np.where(ports.link >= 0, slope * over**2, 0.0)))


def envelope_energy(tables, linked):
    """The same for space vectors of shape (B,): the mean over a turn of the flux. [J]

    With a = |psi| and K the knee, three limbs hold on average 3/2 k times the mean square of a sin(u) - K beyond the
    knee, in limb quantities; on the scale of the space vector 3/2 becomes 1.
    """
    cores = tables.cores
    size = tables.links.l[0, cores.link] * np.abs(linked[cores.link])
    ratio = np.minimum(cores.knee / np.maximum(size, 1e-300), 1.0)
    start = np.arcsin(ratio)
    rest, cosine = 0.5 * np.pi - start, np.cos(start)
    square = size**2 * (0.5 * (rest + ratio * cosine) - 2.0 * ratio * cosine + ratio**2 * rest)
    return float(np.sum(cores.excess * square * 2.0 / np.pi))
