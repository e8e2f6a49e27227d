"""Envelope engine: set-up of weights and scratch, and chunked stepping around the kernel."""

import numpy as np

from sim.engines.alert import Alert
from sim.engines.handover import FIRST_STEP
from sim.engines.iron import pass_on
from sim.engines.methods import METHODS, RESTART
from sim.engines.stored import stored_energy
from sim.errors import SolveError
from sim.kernels.columns import (
    CONTROL_FRESH,
    CONTROL_JUMP,
    CONTROL_STEP,
    DRIVE_DROP,
    DRIVE_HZ,
    DRIVE_LIMIT,
    DRIVE_SAMPLES,
    DRIVE_SLIP,
    DRIVE_STATES,
    ENERGY_DISSIPATED,
    FRONT_MOST,
    FRONT_VOLTS,
    LINK_FARADS,
    LINK_VOLTS,
    LOAD_DUTY,
    SHAFT_SAMPLES,
    TRAIN_STIFFNESS,
    WINDINGS,
    WORK_COLUMNS,
    X_ACTIVE,
    X_ANGLE,
    X_CURRENT,
    X_ENERGY,
    X_HZ,
    X_POWER,
    X_REACTIVE,
    X_SUPPLY,
    X_SUPPLY_Q,
    X_TRIM,
)
from sim.kernels.envelope.linear import Linear
from sim.kernels.envelope.sampling import EnvelopeSamples
from sim.kernels.envelope.stage import Stage
from sim.kernels.envelope.steps import ALERT, DONE, STEP_FLOOR, envelope_steps

METHOD = "kennedy4"
CALMING_STEP = 5e-4        # after a switch opened at once: some periods of what the strays beside it ring with [s]
BLOCK = 512                 # samples per kernel call
FLUX_SHARE = 50.0          # core flux is held to this multiple of the tolerance, per unit of rated flux


def make_scales(network):
    """Error weights of x and r from nominal voltages and the base power; inf where a state is algebraic."""
    t, volts, power = network.tables, network.node_volts, network.power
    ends = np.maximum(t.links.start, t.links.end)
    w = t.islands.w[t.links.island]
    amps = power / volts[ends]
    cores = network.link_volts > 0.0
    flux_amps = network.link_volts / (w * np.where(t.links.l[0] > 0.0, t.links.l[0], np.inf))
    links = np.where(t.links.l[0] > 0.0, np.where(cores, FLUX_SHARE * flux_amps, amps), np.inf)
    capacitors = np.where(t.links.s[0] > 0.0, amps * t.links.s[0] / w, np.inf)
    branches = np.diff(t.cables.branch)
    waves = [_cable_scale(network, k) for k in range(len(t.cables.start))]
    fosters = np.repeat(waves, branches * np.diff(t.cables.first))
    waves = np.repeat(waves, np.diff(t.cables.first))
    flux = np.repeat(volts[t.machines.node] / t.islands.w[t.machines.island], WINDINGS)
    drive = _drive_scales(t.drives.data)
    speeds = t.islands.w[t.machines.island] / t.machines.pairs
    twists = t.machines.load[:, LOAD_DUTY] / np.where(t.machines.train[:, TRAIN_STIFFNESS] > 0.0,
                                                      t.machines.train[:, TRAIN_STIFFNESS], np.nan)
    at = t.layout
    x, r = np.empty(at.columns), np.empty(at.rows)
    x[at.nodes], x[at.links], x[at.capacitors], x[at.fluxes] = volts, links, capacitors, flux
    x[at.oscillators] = np.concatenate([waves, waves, fosters])
    r[at.speeds], r[at.load_speeds], r[at.drives] = speeds, speeds, drive.ravel()
    r[at.twists] = np.where(twists > 0.0, twists, np.inf)
    return x, r


def _drive_scales(data):
    """Error weights of drives' states, shape (D, DRIVE_STATES)."""
    drive = np.full((len(data), DRIVE_STATES), np.inf)
    drive[:, X_HZ] = data[:, DRIVE_HZ]
    drive[:, X_ANGLE] = drive[:, X_TRIM] = 1.0
    drive[:, X_CURRENT] = data[:, DRIVE_LIMIT]
    acted_on = (data[:, DRIVE_DROP] > 0.0) | (data[:, DRIVE_SLIP] > 0.0)
    drive[:, X_ACTIVE] = drive[:, X_REACTIVE] = np.where(acted_on, data[:, DRIVE_LIMIT], np.inf)
    linked = data[:, LINK_FARADS] > 0.0
    for state, size in ((X_ENERGY, 0.5 * data[:, LINK_FARADS] * data[:, LINK_VOLTS] ** 2),
                        (X_POWER, data[:, FRONT_MOST] * data[:, FRONT_VOLTS]),
                        (X_SUPPLY, data[:, FRONT_VOLTS]), (X_SUPPLY_Q, data[:, FRONT_VOLTS])):
        drive[:, state] = np.where(linked, size, np.inf)
    return drive


def _cable_scale(network, k):
    """Energy-normalised size of a cable charged to nominal voltage. [sqrt(J)]"""
    cables = network.tables.cables
    span = slice(cables.first[k], cables.first[k + 1])
    g, w = cables.gf[0, span], cables.w[0, span]
    capacitance = 2.0 * np.sum((g[w > 0.0] / w[w > 0.0]) ** 2) + cables.end_c[0, k]
    return network.node_volts[cables.start[k]] * np.sqrt(capacitance)


def make_scratch(network, stages):
    """Coefficient and stage arrays of the kernel."""
    t, at = network.tables, network.tables.layout
    n_nodes, n_links, n_modes, n = t.nodes.c.shape[1], len(t.links.start), t.cables.w.shape[1], at.columns
    a, n_branches = len(t.machines.node), t.cables.alpha.shape[1]
    n_r, fluxes, size = at.rows, at.scalars - at.size, at.scalars

    def c(*shape):
        return np.zeros(shape, dtype=complex)

    def f(*shape):
        return np.zeros(shape)

    linear = Linear(c(n_links), c(n_links), *(c(n_modes) for _ in range(5)), c(n_branches), c(n_branches),
                    c(n_nodes, n_nodes), c(n_nodes, n_nodes), f(len(t.islands.source)))
    def k(size):
        return np.zeros(size, dtype=np.int64)

    data = t.drives.data
    out, volts, amps = (np.where(data[:, column] > 0.0, data[:, column], 1.0)
                        for column in (DRIVE_LIMIT, FRONT_VOLTS, FRONT_MOST))
    measured = np.stack([np.sqrt(3.0) * out, np.sqrt(3.0) * out, volts, volts, amps, amps], axis=1)
    units = np.concatenate([t.islands.w[t.machines.island] / t.machines.pairs, measured.ravel(),
                            t.machines.knee[:, 0], t.cores.knee[:, 0]])
    stage = Stage(c(stages, n), f(stages, n_r), c(n), f(n_r), c(n), f(n_r), c(n_nodes), c(n_nodes), c(n_modes),
                  c(n_links), c(n_links), f(a, 3, 3), c(a, 8), k(fluxes), c(fluxes), c(fluxes), c(fluxes),
                  c(fluxes, fluxes), f(a), f(1), *(f(size) for _ in range(4)), f(size, size), f(size, size), f(size),
                  units, f(a), k(size), k(1), k(fluxes), k(fluxes))
    return linear, stage


def make_samples(network, rows):
    t = network.tables
    n, b, k = t.nodes.c.shape[1], len(t.links.start), len(t.cables.start)
    q, a, d = len(t.switches.start), len(t.machines.node), len(t.drives.link)
    return EnvelopeSamples(
        np.zeros(rows), np.zeros((rows, n), complex), np.zeros((rows, b), complex), np.zeros((rows, 2, k), complex),
        np.zeros((rows, q), complex), np.zeros((rows, a), complex), np.zeros((rows, a, SHAFT_SAMPLES)),
        np.zeros((rows, d, DRIVE_SAMPLES)), np.zeros((rows, len(t.islands.source))))


class EnvelopeEngine:
    """Adaptive integration between moments at which something is switched or ordered.

    Parameters
    ----------
    network : Network
    tolerance : float
        Error weight per step, relative to nominal plus present values.
    step_most : float
        Longest step. [s]
    method : str
        Name of a table in `sim.engines.methods`.
    """

    def __init__(self, network, tolerance, step_most, method=METHOD):
        self.network, self.tables = network, network.tables
        self.tolerance, self.step_most = tolerance, step_most
        self.main, self.start = METHODS[method], METHODS[RESTART[method]]
        self.scale_x, self.scale_r = make_scales(network)
        self.linear, self.stage = make_scratch(network, max(len(self.main.c), len(self.start.c)))
        self.closed = network.closed.astype(np.int64)
        self.counts = np.zeros(WORK_COLUMNS, dtype=np.int64)
        self.blocks = []

    def restart(self, state):
        """Forget slopes and step length after a discontinuity."""
        state.control[CONTROL_STEP] = max(FIRST_STEP, state.control[CONTROL_JUMP])
        state.control[CONTROL_FRESH] = 1.0

    def interrupt(self, state, switch):
        """Open a switch at once: the inductances around it let its current go, and their energy counts as lost.

        Left to the stray capacitances beside it the current would make them ring far above any real voltage: poles open
        at their zeros, which this engine does not know.  Waves that still start from there are damped by one long step.
        """
        switches, before = self.tables.switches, stored_energy(self.network, state.x)
        start, end = switches.start[switch], switches.end[switch]
        amps = self.closed[switch] * switches.g[switch] * (state.x[start] - state.x[end])
        self.closed[switch] = 0
        drawn = np.zeros(len(self.network.node_names), dtype=complex)
        drawn[start], drawn[end] = -amps, amps
        state.x[:] = pass_on(self.network, self.closed, state.x, drawn)
        state.energy[ENERGY_DISSIPATED] += before - stored_energy(self.network, state.x)
        state.control[CONTROL_JUMP] = CALMING_STEP

    def advance(self, state, t, t_end, progress=None):
        """Integrate from t to t_end; returns (time reached, why it halted before, or None)."""
        main, start = self.main, self.start
        between = state._replace(x=np.zeros_like(state.x), r=np.zeros_like(state.r),
                                 slope_x=np.zeros_like(state.x), frame_w=np.zeros_like(state.frame_w))
        while True:
            out = make_samples(self.network, BLOCK)
            status, t, rows, monitor, code = envelope_steps(
                self.tables, self.closed, state, between, self.linear, self.stage, self.scale_x, self.scale_r,
                self.network.machine_amps, main.a, main.error, int(main.explicit_first),
                min(main.order, main.error_order), start.a, start.error, main.gamma, self.tolerance, float(t),
                float(t_end), self.step_most, out, self.counts)
            if rows:
                self.blocks.append(EnvelopeSamples(*(part[:rows].copy() for part in out)))
            if progress:
                progress(t)
            if status == STEP_FLOOR:
                raise SolveError(self._stiffest(), t, "the envelope step fell under its floor: "
                                 "run with engine = \"waveform\" or raise study.tolerance_pu")
            if status == ALERT:
                return t, Alert.of(self.tables.monitors, monitor, code)
            if status == DONE:
                return t, None

    def _stiffest(self):
        worst = int(np.argmax(np.abs(self.stage.change_x[-1][:len(self.network.node_names)])))
        return self.network.node_names[worst]

    def joined(self):
        """All samples so far as one EnvelopeSamples, or None; the store is emptied."""
        blocks, self.blocks = self.blocks, []
        if not blocks:
            return None
        return EnvelopeSamples(*(np.concatenate(parts) for parts in zip(*blocks)))
