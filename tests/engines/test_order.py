"""Order of accuracy of both engines, measured on smooth motion.

Three circuits, each taken past its start-up transient: a machine that runs up on a grid behind transformers and a
cable, one that follows the ramp of a drive, whose frame changes speed from step to step, and one behind a drive whose
front end stands at the end of the cable.  The error is the
energy norm of the difference to a fine run (and, apart from it, the speed of the shaft); its logarithm is
regressed on that of the step.
"""

from functools import lru_cache

import numpy as np
import pytest

from engines.circuits import (
    build,
    cable,
    drive,
    fixed_envelope,
    grid,
    machine,
    shunt,
    steady_envelope,
    transformer,
    write,
)
from sim.engines.envelope.engine import EnvelopeEngine
from sim.engines.handover import dead_state, drive_states, to_waveform
from sim.engines.methods import METHODS
from sim.engines.run.first_state import find_first_state
from sim.engines.stored import stored_energy
from sim.engines.waveform.engine import WaveformEngine
from sim.kernels.columns import X_HZ

START, SPAN = 0.5, 0.064
# A slope is regressed on steps that halve three times; the next term of the expansion bends it by a few
# hundredths at the longest step, rounding at the shortest.
BAND = 0.1
STEPS = {2: [8e-4, 4e-4, 2e-4, 1e-4], 4: [3.2e-3, 1.6e-3, 8e-4, 4e-4]}     # of the envelope by order [s]
FRONTS = ("active", "rectifier")
LOAD = {"kind": "compressor", "breakaway_pct": 10.0}
FEEDER = (transformer("bus", "head", to_kv=20.0) + cable(km=40.0, resistance_ohm_per_km=1.0)
          + transformer("tail", "end", from_kv=20.0, name="unit_2")
          + shunt("end", resistance_ohm=100.0, capacitance_uf=0.5))


@lru_cache(maxsize=None)
def settle(kind):
    """Network, closed switches and envelope state after the start-up transient."""
    if kind == "grid":
        _, network = build(grid(mva=300.0), FEEDER, machine("end", load=LOAD, second=True), bandwidth_khz=1.0)
        state = steady_envelope(network)
        state.shaft[:, 0], state.r[0] = 0.0, 120.0
    elif kind in FRONTS:
        far = (drive(node="out", start_hz=10.0, hold_s=0.1, voltage_rise_s=0.1, ramp_hz_per_s=20.0, kva=6000.0)
               + write("[drive.front_end]", node="end", kind=kind, reactance_pct=5.0))
        _, network = build(grid(mva=300.0), FEEDER, far, machine("out", load=LOAD), bandwidth_khz=1.0)
        state = find_first_state(network)[0]            # the link is charged
        state.shaft[:, 0], state.r[0], state.drive_on[0] = 0.0, 30.0, 1
        drive_states(network, state)[0, X_HZ] = 10.0
    else:
        _, network = build(drive(start_hz=10.0, hold_s=0.1, voltage_rise_s=0.1, ramp_hz_per_s=20.0, kva=6000.0),
                           FEEDER, machine("end", load=LOAD), bandwidth_khz=1.0)
        state = dead_state(network)
        state.shaft[:, 0], state.r[0], state.drive_on[0] = 0.0, 30.0, 1
        drive_states(network, state)[0, X_HZ] = 10.0
    engine = EnvelopeEngine(network, 1e-7, 1e-3)
    engine.closed[:] = 1
    for begin, end in ((0.0, 0.1), (0.1, START)):       # hold and voltage rise end at 0.1 s
        engine.restart(state)
        engine.advance(state, begin, end)
    return network, engine.closed.copy(), state


def copy(state):
    return type(state)(*(part.copy() for part in state))


def run_envelope(kind, method, step):
    """State at START + SPAN with fixed steps."""
    network, closed, state = settle(kind)
    state = copy(state)
    engine = fixed_envelope(network, step, method, state)
    engine.closed[:] = closed
    engine.advance(state, START, START + SPAN)
    assert engine.counts[3] == round(SPAN / step) and engine.counts[4] == 0
    return state.x * np.exp(1j * state.theta)[network.tables.islands.column], state.r[0]


def run_fixed_waveform(kind, step):
    network, closed, state = settle(kind)
    state = to_waveform(network, state)
    engine = WaveformEngine(network, step, 10**6)
    engine.gear.pole_g[:] = network.tables.switches.g[:, None]
    engine.advance(state, START, START + SPAN)
    return state.x, state.speed[0]


def slopes(network, run, steps, finest):
    """Regression slopes of the state's and the speed's error."""
    x_best, speed_best = run(finest)
    errors = []
    for step in steps:
        x, speed = run(step)
        errors.append((np.sqrt(stored_energy(network, x - x_best)), abs(speed - speed_best)))
    assert np.max(errors) > 1e-9       # else rounding is regressed
    return np.polyfit(np.log(steps), np.log(errors), 1)[0]


@pytest.mark.parametrize("kind", ["grid", "drive"])
@pytest.mark.parametrize("method", METHODS)
def test_envelope_has_the_order_of_its_method(kind, method):
    steps = STEPS[METHODS[method].order]
    got = slopes(settle(kind)[0], lambda step: run_envelope(kind, method if step in steps else "kennedy4", step),
                 steps, 5e-5)
    assert got == pytest.approx(METHODS[method].order, abs=BAND)


@pytest.mark.parametrize("kind", ["grid", "drive", "active"])
def test_waveform_is_of_second_order(kind):
    got = slopes(settle(kind)[0], lambda step: run_fixed_waveform(kind, step), [8e-5, 4e-5, 2e-5, 1e-5], 1e-6)
    assert got == pytest.approx(2.0, abs=BAND)


def test_both_engines_tend_to_one_solution():
    """Envelope at 20 us against waveform at 2 us: what is left is the latter's error, known from its order."""
    network = settle("grid")[0]
    exact, speed = run_envelope("grid", "kennedy4", 2e-5)
    x, wave_speed = run_fixed_waveform("grid", 2e-6)
    coarse, coarse_speed = run_fixed_waveform("grid", 8e-6)

    def size(y):
        return np.sqrt(stored_energy(network, y))

    vectors = [y[0] + 1j * y[1] for y in (x, coarse)]
    gaps = [size(y - exact) for y in vectors]
    assert gaps[0] == pytest.approx(gaps[1] / 16.0, rel=0.05)
    assert abs(wave_speed - speed) == pytest.approx(abs(coarse_speed - speed) / 16.0, rel=0.05)
    assert gaps[0] < 1e-6 * size(exact)


def test_diodes_are_of_second_order_but_for_the_edges_of_their_steps():
    """The moments at which a stepped voltage passes on scatter the errors about the slope."""
    got = slopes(settle("rectifier")[0], lambda step: run_fixed_waveform("rectifier", step), [8e-5, 4e-5, 2e-5, 1e-5],
                 1e-6)
    assert got == pytest.approx(2.0, abs=0.3)
