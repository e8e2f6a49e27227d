"""Ceilings on the work of a run: a change that costs steps, iterations or factorisations shows here."""

from functools import lru_cache

import pytest
import runs

from engines.circuits import breaker, build, grid, make_constant, shunt
from sim.engines.handover import dead_state, to_waveform
from sim.engines.run.timeline import STEPS_SHOWN
from sim.engines.waveform.engine import WaveformEngine

# Measured on the day of writing: 1307 envelope steps, 13 733 Newton iterations, 1310 Jacobians, 1321 factorisations, 3
# refused steps, 215 137 waveform steps, 121 000 of them for the cycle at 2 Hz in which the core of the subsea
# transformer passes its knee, 60 000 fine ones for what three openings left.  The ceilings stand about 20 % above.
CEILINGS = {"envelope": 1600, "newton": 16000, "jacobians": 1600, "factorisations": 1600, "rejected": 8,
            "waveform": 260000}


@lru_cache(maxsize=None)
def count_steps():
    return runs.simulate_shipped("quillfen").steps


@pytest.mark.parametrize("kind", CEILINGS)
def test_work_stays_under_its_ceiling(kind):
    assert 0 < count_steps()[kind] <= CEILINGS[kind]


def test_envelope_steps_are_limited_by_the_curves_not_by_the_tolerance():
    """Most steps are there to draw smooth curves (STEPS_SHOWN over a run): stiffness does not cost any."""
    assert STEPS_SHOWN <= count_steps()["envelope"] < 1.6 * STEPS_SHOWN


def test_newton_converges_fast():
    """Five implicit stages a step (kennedy4) and less than three iterations a stage."""
    steps = count_steps()
    assert steps["newton"] < 3 * 5 * (steps["envelope"] + steps["rejected"])


def test_one_factorisation_serves_a_step():
    """All stages share it; the waveform engine adds one per topology and step length."""
    steps = count_steps()
    assert steps["factorisations"] <= steps["envelope"] + steps["rejected"] + 60


def test_whole_steps_need_one_factorisation_late_in_a_run():
    """At t = 38 s the rounding of t is 1e-9 of a step: a span of ten steps is still ten steps of one length."""
    _, network = build(grid(), shunt("bus", resistance_ohm=10.0))
    engine = WaveformEngine(network, 4e-6)
    state, t = to_waveform(network, dead_state(network)), 38.1
    for _ in range(50):
        t, _ = engine.advance(state, t, t + 10 * engine.h)
    assert engine.cache.factorisations == 1
    assert engine.steps == 500


def test_a_waiting_pole_does_not_chop_the_run():
    """A direct current has no zero: the kernel still has to run in long calls while the poles wait, and a run tells its
    progress after each."""
    _, network = build(grid(), breaker(), shunt("head", resistance_ohm=100.0), bandwidth_khz=5.0)
    make_constant(network, 5e3)
    engine, state = WaveformEngine(network, 4e-6), to_waveform(network, dead_state(network))
    t, _ = engine.advance(state, 0.0, 0.05)
    engine.open(0, t)
    before, calls = engine.steps, []
    engine.advance(state, t, t + 0.2, calls.append)
    assert state.opening.all() and engine.gear.pole_g.all()         # the poles do wait
    assert engine.steps - before > 1000 * len(calls)


def test_a_dead_network_leaves_the_phases():
    """Once the drive has tripped nothing feeds the chain: what direct currents are left need no zero to be waited for.

    The dead stretch up to the next switching then costs tens of steps, not millions of 4 us.
    """
    result = runs.simulate_shipped("quillfen_no_boost")
    trip = next(event.t for event in result.events if event.what == "trip")
    back = next(hand["t_s"] for hand in result.handovers if hand["to"] == "envelope" and hand["t_s"] > trip)
    assert back - trip < 0.5
    assert result.steps["waveform"] < 400_000 and result.steps["envelope"] < 5_000
