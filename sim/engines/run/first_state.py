"""The first state of a run: grids in steady state, charge left on cables, everything else at rest."""

import numpy as np

from sim.engines.handover import dead_state, drive_states
from sim.kernels.columns import (
    FRONT_RATIO,
    LINK_FARADS,
    LINK_VOLTS,
    PEAK_EARTH,
    PEAK_PHASE,
    SOURCE_GRID,
    X_CHARGES,
    X_DIODES,
    X_ENERGY,
    X_SUPPLY,
    X_SUPPLY_Q,
)
from sim.kernels.control.front import BRIDGE
from sim.network.tables import CLARKE
from sim.phasors.steady import steady_state

CREST = np.sqrt(2.0 / 3.0)


def find_first_state(network):
    """State at t = 0 and, where machines at standstill hang on a live grid, their names.

    Grids run in steady state unless a machine at standstill hangs on them: then they are switched on at 0.

    Returns
    -------
    state : EnvelopeState
    loaded : list of str
        Machines that keep the grid from a steady state.
    """
    t = network.tables
    state = dead_state(network)
    if not np.any(t.sources.kind == SOURCE_GRID):
        return state, []
    frame = np.zeros(len(t.islands.source))
    for island, s in enumerate(t.islands.source):
        if s >= 0 and t.sources.kind[s] == SOURCE_GRID:
            frame[island] = t.sources.w[s]
            state.theta[island] = t.sources.phase[s]
    x = steady_state(network, network.closed, frame)
    nodes = len(network.node_names)
    v = np.abs(x[:nodes])
    loaded = [m for m, n in zip(network.machine_names, t.machines.node) if v[n] > 0.01 * network.node_volts[n]]
    if not loaded:
        state.x[:] = x
        state.frame_w[:] = frame
        state.peak[:, PEAK_EARTH], state.peak[:, PEAK_PHASE] = CREST * v, np.sqrt(2.0) * v
        charge_links(network, state)
    return state, loaded


def charge_links(network, state):
    """Direct-voltage links in balance with the supply of their front ends, unless they are still to be charged."""
    drives, table = drive_states(network, state), network.tables.drives
    for l in np.flatnonzero(table.front >= 0):
        data, seen = table.data[l], state.x[table.front_node[l]]
        drives[l, X_SUPPLY], drives[l, X_SUPPLY_Q] = seen.real, seen.imag
        if drives[l, X_CHARGES] == 0.0:
            diodes = abs(seen) / (BRIDGE * data[FRONT_RATIO])
            volts = diodes if drives[l, X_DIODES] == 1.0 else data[LINK_VOLTS]
            drives[l, X_ENERGY] = 0.5 * data[LINK_FARADS] * volts**2


def list_charges(case):
    """Charge left on cables at the start: (name, shares of the crest of phase voltage) of every cable that has some."""
    return [(cable.name, tuple(cable.trapped_pu)) for cable in case.cables if any(cable.trapped_pu)]


def charge_cable(network, state, name, shares):
    """Put a cable under a direct voltage in a waveform state.

    Parameters
    ----------
    state : State
    name : str
        Of the cable, in all its sections.
    shares : sequence of float
        Voltage of phases a, b, c per unit of the crest of nominal phase voltage.

    Notes
    -----
    At rest no current flows, so that each oscillator's series flux q balances its end voltages:
    w q = -(gf + gt) v.
    """
    t = network.tables
    first, last = network.cable_rows[network.cable_names.index(name)]
    for k in range(first, last + 1):
        volts = CREST * network.node_volts[t.cables.start[k]] * (CLARKE @ np.asarray(shares, dtype=float))
        state.x[:, t.cables.start[k]] = state.x[:, t.cables.end[k]] = volts
        span = slice(t.cables.first[k], t.cables.first[k + 1])
        q = slice(t.layout.q + span.start, t.layout.q + span.stop)
        for c in range(3):
            row = 0 if c < 2 else 1
            pull, w = t.cables.gf[row, span] + t.cables.gt[row, span], t.cables.w[row, span]
            state.x[c, q] = -volts[c] * np.divide(pull, w, out=np.zeros_like(w), where=w > 0.0)
