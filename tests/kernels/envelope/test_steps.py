"""The stepping kernel of the envelope engine as its engine sees it: where it ends and why it stops before."""

import numpy as np
import pytest
from engines.circuits import build, grid, machine, shunt, steady_envelope, transformer

from sim.engines.alert import Alert
from sim.engines.envelope.engine import EnvelopeEngine
from sim.engines.handover import dead_state
from sim.engines.iron import core_flux
from sim.kernels.columns import CORE_BEYOND, MONITOR_CORE


def feeder(*parts):
    return build(grid(), shunt("bus", resistance_ohm=20.0), *parts)[1]


def test_it_ends_at_the_very_moment_it_is_asked_for():
    network = feeder()
    engine = EnvelopeEngine(network, 1e-4, 1e-3)
    reached, alert = engine.advance(steady_envelope(network), 0.0, 0.0123)
    samples = engine.joined()
    assert alert is None and reached == pytest.approx(0.0123, abs=1e-15) and samples.t[-1] == reached
    assert (np.diff(samples.t) > 0.0).all()


def test_a_steady_state_stays_one():
    network = feeder()
    state = steady_envelope(network)
    before = state.x.copy()
    EnvelopeEngine(network, 1e-4, 1e-3).advance(state, 0.0, 0.1)
    assert np.abs(state.x - before).max() < 1e-8 * np.abs(before).max()


def test_it_halts_where_a_core_passes_its_limit():
    """Of the cores named, at the first step beyond."""
    network = feeder(transformer("bus", "low", to_kv=3.0, knee_pu=1.15))
    engine, state = EnvelopeEngine(network, 1e-4, 1e-3), steady_envelope(network)
    rated = core_flux(network.tables, state.x)
    state.limit[network.tables.monitors.kind == MONITOR_CORE] = 2.0 * rated
    assert engine.advance(state, 0.0, 0.01)[1] is None
    state.limit[network.tables.monitors.kind == MONITOR_CORE] = 0.5 * rated
    reached, alert = engine.advance(state, 0.01, 0.1)
    assert alert == Alert(MONITOR_CORE, 0, CORE_BEYOND) and reached < 0.1


def test_a_machine_is_held_until_its_torque_exceeds_what_holds_it():
    """The moment of breakaway lies within a step: before it the torque is below the threshold, after it it turns."""
    network = feeder(machine("bus", load={"kind": "pump", "breakaway_pct": 15.0}, inertia=20.0))
    engine, state = EnvelopeEngine(network, 1e-5, 1e-3), dead_state(network)
    state.frame_w[:] = 314.16
    engine.advance(state, 0.0, 0.3)
    samples = engine.joined()
    speed, torque, asked = samples.shaft[:, 0, 0], samples.shaft[:, 0, 1], samples.shaft[:, 0, 2]
    first = np.argmax(speed > 0.0)
    assert first > 1 and (np.abs(torque[:first - 1]) <= asked[0] * 1.01).all()
    assert speed[-1] > 1.0
