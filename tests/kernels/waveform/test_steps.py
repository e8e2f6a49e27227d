"""The stepping kernel as its engine sees it: why it stops, and what it has taken until then."""

import numpy as np
import pytest
from engines.circuits import breaker, build, grid, shunt, steady_envelope

from sim.engines.handover import to_waveform
from sim.engines.waveform.engine import WaveformEngine
from sim.errors import SolveError

STEP = 1e-5


@pytest.fixture
def running():
    """A breaker that carries the current of an inductive load in the steady state."""
    _, network = build(grid(), breaker("bus", "head"),
                       shunt("head", connection="series", resistance_ohm=1.0, inductance_mh=50.0))
    return network, to_waveform(network, steady_envelope(network)), WaveformEngine(network, STEP)


def pole_currents(network, engine, state):
    return np.array([engine._pole_current(state, 0, phase) for phase in range(3)])


def test_a_step_that_holds_a_zero_is_not_taken(running):
    """Up to the step before it the poles carry current; the state is left at its start."""
    network, state, engine = running
    state.opening[:] = 1
    t, status, (switch, phase, share) = engine._call(state, 0.0, STEP, 2000)
    before = pole_currents(network, engine, state)[phase]
    assert (status, switch) == (1, 0) and 0.0 < share <= 1.0
    state.opening[:] = 0
    engine._call(state, t, STEP, 1)
    after = pole_currents(network, engine, state)[phase]
    assert before * after <= 0.0
    assert share == pytest.approx(before / (before - after), rel=1e-3)       # a milliampere counts as none


def test_steps_go_on_where_no_pole_waits(running):
    _, state, engine = running
    t, status, _ = engine._call(state, 0.0, STEP, 300)
    assert status == 0 and t == pytest.approx(300 * STEP) and state.energy[4] == 300.0


def test_a_steady_state_stays_one(running):
    """A whole period later it is the same, to the method's (w h)^2/12 a radian."""
    _, state, engine = running
    before = state.x.copy()
    engine._call(state, 0.0, STEP, 2000)
    assert np.abs(state.x - before).max() < 1e-4 * np.abs(before).max()


def test_numbers_that_are_none_are_an_error_in_words(running):
    _, state, engine = running
    state.x[0, 0] = np.nan
    with pytest.raises(SolveError, match="left the number range"):
        engine._call(state, 0.0, STEP, 5)
