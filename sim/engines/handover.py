"""The exact change of a state from one engine to the other.

In a balanced network alpha + j beta in the stationary frame and the envelope in its frame hold the
same information: x_stationary = x_frame exp(j theta).  The change is lossless for positive and
negative sequence; the zero sequence exists in the waveform engine only and must have died out before
the way back.
"""

import numpy as np

from sim.engines.iron import drawn_by_cores, drawn_by_limbs, pass_on
from sim.kernels.columns import (
    CONTROL_COLUMNS,
    CONTROL_FRESH,
    CONTROL_STEP,
    DRIVE_SCALARS,
    ENERGY_STEPS,
    LINK_FARADS,
    PEAK_COLUMNS,
    SHAFT_FREED,
    SHAFT_LOCKED,
    SHAFT_SPEED,
    SHAFT_STATES,
    SHAFT_TWIST,
    SOURCE_GRID,
    TRAIN_INERTIA,
    X_ANGLE,
    X_ENERGY,
    X_SUPPLY,
    X_SUPPLY_Q,
)
from sim.kernels.elements.machine import main_flux
from sim.kernels.envelope.stage import EnvelopeState
from sim.kernels.waveform.stage import State
from sim.network.drives import first_modes
from sim.network.layout import drive_rows, flux_rows

FIRST_STEP = 2e-5           # of the envelope engine after a start or a discontinuity [s]
SHARED = ("shaft", "load_factor", "drive_on", "target_hz", "live", "phase", "energy", "peak", "limit")


def dead_state(network):
    """Everything at rest and without charge, in the envelope engine's form."""
    t, at = network.tables, network.tables.layout
    a, d, islands = len(t.machines.node), len(t.drives.link), len(t.islands.source)
    shaft = np.zeros((a, SHAFT_STATES))
    shaft[:, SHAFT_LOCKED], shaft[:, SHAFT_FREED] = 1.0, -1.0
    control = np.zeros(CONTROL_COLUMNS)
    control[CONTROL_STEP], control[CONTROL_FRESH] = FIRST_STEP, 1.0
    state = EnvelopeState(
        x=np.zeros(at.columns, complex), r=np.zeros(at.rows), slope_x=np.zeros(at.columns, complex),
        slope_r=np.zeros(at.rows), shaft=shaft, load_factor=network.load_factor.copy(),
        seen=np.zeros((d, DRIVE_SCALARS)), drive_on=np.zeros(d, np.int64), target_hz=network.target_hz.copy(),
        live=np.ones(len(t.sources.kind), np.int64), phase=t.sources.phase.copy(), theta=np.zeros(islands),
        frame_w=np.zeros(islands), energy=np.zeros(ENERGY_STEPS + 1),
        peak=np.zeros((len(network.node_names), PEAK_COLUMNS)), limit=np.full(len(t.monitors.kind), np.inf),
        control=control)
    drive_rows(at, state.r)[:] = first_modes(t.drives.data)
    return state


def drive_states(network, state):
    """View of the drive states inside r of an envelope state, shape (D, DRIVE_STATES)."""
    return drive_rows(network.tables.layout, state.r)


def turn_drives(network, drive, theta, sign):
    """Refer the angles of drives to other frames, in place: theta (I,) is added with this sign. [rad]"""
    drives = network.tables.drives
    drive[:, X_ANGLE] += sign * theta[drives.island]
    for l in np.flatnonzero(drives.front >= 0):
        seen = complex(drive[l, X_SUPPLY], drive[l, X_SUPPLY_Q])
        seen *= np.exp(1j * sign * theta[drives.front_island[l]])
        drive[l, X_SUPPLY:X_SUPPLY_Q + 1] = seen.real, seen.imag


def measure_drives(network, x):
    """What every drive measures: output current, supply voltage and current of its front end, shape (D, 3). [A, V, A]

    x has shape (n,): space vectors, in the frames of their islands or stationary.
    """
    drives, at = network.tables.drives, network.tables.layout
    out = np.zeros((len(drives.link), 3), dtype=complex)
    out[:, 0] = x[at.link + drives.link]
    for l in np.flatnonzero(drives.front >= 0):
        out[l, 1:] = x[drives.front_node[l]], x[at.link + drives.front[l]]
    return out


def _shared(state):
    """Copies of the fields that mean the same in both engines."""
    return {name: getattr(state, name).copy() for name in SHARED}


def to_waveform(network, state, closed=None):
    """Waveform state at the same moment; `closed` (Q,) is the position of every switch, at first that of the case."""
    t, at, a = network.tables, network.tables.layout, len(network.machine_names)
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
    farads = t.drives.data[:, LINK_FARADS]
    direct = np.sqrt(2.0 * np.maximum(drive[:, X_ENERGY], 0.0) / np.where(farads > 0.0, farads, 1.0))
    shared = _shared(state)
    shared["energy"][ENERGY_STEPS] = 0.0            # which steps are stored is counted from here
    shared["shaft"][:, SHAFT_SPEED], shared["shaft"][:, SHAFT_TWIST] = state.r[at.load_speeds], state.r[at.twists]
    locked = (state.shaft[:, SHAFT_LOCKED] == 1.0) & (t.machines.train[:, TRAIN_INERTIA] == 0.0)
    flux = np.zeros((a, 2))
    flux[:, 0] = [main_flux(t.machines, m, *windings) for m, windings in enumerate(flux_rows(at, x))]
    return State(
        x=np.stack([x.real, x.imag, zero]), speed=state.r[at.speeds].copy(), flux=flux,
        acceleration=np.where(locked, 0.0, state.slope_r[at.speeds]), drive=drive,
        drive_amps=np.stack([along, along], axis=1), front=seen[:, 1].copy(),
        direct=np.stack([direct, direct], axis=1),
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
            is_grid = t.sources.kind[s] == SOURCE_GRID
            theta[island] = (t.sources.w[s] * time + state.phase[s] if is_grid
                             else drive[t.sources.unit[s], X_ANGLE])
    turn_drives(network, drive, theta, -1.0)
    fresh, x = dead_state(network), state.x[0] + 1j * state.x[1]
    closed = network.closed if closed is None else closed
    x = pass_on(network, closed, x, drawn_by_cores(t, x) - drawn_by_limbs(t, x)[0])
    x = x * np.exp(-1j * theta)[t.islands.column]
    at = t.layout
    fresh.r[at.speeds], fresh.slope_r[at.speeds] = state.speed, state.acceleration
    fresh.r[at.load_speeds], fresh.r[at.twists] = state.shaft[:, SHAFT_SPEED], state.shaft[:, SHAFT_TWIST]
    fresh.r[at.drives] = drive.ravel()
    return fresh._replace(
        x=x, theta=theta, seen=measure_drives(network, x).view(float), **_shared(state))
