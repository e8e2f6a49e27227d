"""Symmetries of three-phase networks: phase permutation, choice of frame, hand-over, zero sequence by vector group.

Vector groups: IEC 60076-1, clause 7; zero sequence of transformer connections: any text on symmetrical components.
"""

import numpy as np
import pytest
from engines.circuits import (
    breaker,
    build,
    cable,
    drive,
    event,
    grid,
    machine,
    make_case,
    phases,
    shunt,
    steady_envelope,
    transformer,
)

from sim.engines.envelope.engine import EnvelopeEngine
from sim.engines.handover import dead_state, drive_states, measure_drives, to_envelope, to_waveform
from sim.engines.run.timeline import simulate
from sim.engines.stored import stored_energy
from sim.kernels.columns import ENERGY_STEPS, SHAFT_LOCKED, X_ANGLE, X_HZ

FEEDER = (breaker(closed=False), transformer("head", "start", to_kv=20.0), cable("start", "tail", km=20.0),
          machine("tail", kv=20.0, load={"kind": "pump"}))


@pytest.mark.parametrize("turns, shift", [(120.0, -1), (240.0, -2), (-120.0, 1)])
def test_a_third_of_a_turn_permutes_the_phases(turns, shift):
    """Closing and opening included: phase b then does what phase a did, to rounding."""
    signals = []
    for angle in (10.0, 10.0 + turns):
        case = make_case(grid(phase_deg=angle), *FEEDER, event(0.005, "close"), event(0.0312, "open"), duration=0.05)
        result = simulate(case, "waveform")
        signals.append((phases(result, "tail")[1], phases(result, "gear", "current")[1], result))
    for before, after in zip(signals[0][:2], signals[1][:2]):
        assert np.roll(after, shift, axis=1) == pytest.approx(before, abs=1e-7 * np.abs(before).max())
    torque = [r.stretches[-1].signals["booster"]["torque"] for _, _, r in signals]
    assert torque[1] == pytest.approx(torque[0], abs=1e-7 * np.abs(torque[0]).max())


def reach(frame, angle=0.0):
    """State after 0.1 s of a running machine on a grid, in a frame of the given kind; x in stationary form."""
    _, network = build(grid(phase_deg=angle), transformer("bus", "start", to_kv=20.0), cable("start", "tail", km=20.0),
                       machine("tail", kv=20.0, load={"kind": "pump"}), bandwidth_khz=1.0)
    state = steady_envelope(network)
    state.shaft[:, 0], state.r[0] = 0.0, 140.0
    islands = network.tables.islands
    if frame != "source":
        machines = islands.machine if frame == "rotor" else np.full_like(islands.machine, -1)
        tables = network.tables._replace(islands=islands._replace(source=np.full_like(islands.source, -1),
                                                                  machine=machines))
        network = network.__class__(**{**network.__dict__, "tables": tables})
        state.frame_w[:] = 0.0
    engine = EnvelopeEngine(network, 1e-7, 1e-3)
    engine.restart(state)
    engine.advance(state, 0.0, 0.1)
    return network, state, state.x * np.exp(1j * state.theta)[islands.column]


@pytest.mark.parametrize("frame", ["rotor", "rest"])
def test_frame_does_not_matter(frame):
    """Source, rotor or stationary frame; tolerance 1e-7 a step leaves about 1e-5 after some hundred steps."""
    network, expected, x = reach("source")
    _, state, got = reach(frame)
    gap = np.sqrt(stored_energy(network, got - x) / stored_energy(network, x))
    assert gap < 2e-5
    assert state.r[0] == pytest.approx(expected.r[0], rel=1e-6)
    assert state.energy == pytest.approx(expected.energy, rel=1e-5)


@pytest.mark.parametrize("angle", [37.0, 180.0])
def test_grid_angle_changes_no_magnitude(angle):
    """In the envelope engine everything turns with it, to rounding."""
    _, expected, x = reach("source")
    _, state, got = reach("source", angle)
    assert got == pytest.approx(x * np.exp(1j * np.deg2rad(angle)), abs=1e-8 * np.abs(x).max())
    assert state.r[0] == pytest.approx(expected.r[0], rel=1e-9)
    assert state.energy == pytest.approx(expected.energy, rel=1e-9)


def test_hand_over_and_back_returns_the_state():
    """x_stationary = x exp(j theta) and back: rounding only.  With a grid and with a drive at an odd angle."""
    _, network = build(grid(), cable("bus", "tail"), machine("tail"), drive("other", kv=5.0),
                       shunt("other", name="load", resistance_ohm=9.0))
    rng = np.random.default_rng(7)
    state = dead_state(network)
    state.x[:] = rng.normal(size=len(state.x)) + 1j * rng.normal(size=len(state.x))
    state.r[:], state.slope_r[:] = rng.normal(size=len(state.r)), 0.3
    state.seen[:] = measure_drives(network, state.x).view(float)
    state.shaft[:, SHAFT_LOCKED], state.theta[:], state.energy[:ENERGY_STEPS] = 0.0, [0.4, -2.0], [1.0, 2.0, 3.0, 4.0]
    drive_states(network, state)[0, X_HZ] = 12.0
    time = 0.3137
    wave = to_waveform(network, state)
    back = to_envelope(network, wave, time)
    column = network.tables.islands.column
    before, after = (s.x * np.exp(1j * s.theta)[column] for s in (state, back))
    assert after == pytest.approx(before, abs=1e-12)
    angles = [drive_states(network, s)[0, X_ANGLE] + s.theta[network.tables.sources.island[1]] for s in (state, back)]
    assert angles[1] == pytest.approx(angles[0], abs=1e-12)
    turn = np.exp(1j * (state.theta - back.theta)[network.tables.sources.island[1]])
    assert back.seen[0, :2].view(complex)[0] == pytest.approx(state.seen[0, :2].view(complex)[0] * turn)
    assert back.energy == pytest.approx(state.energy)
    assert back.r[0] == state.r[0] and back.slope_r[0] == state.slope_r[0]
    assert stored_energy(network, wave.x) == pytest.approx(stored_energy(network, state.x), rel=1e-12)
    again = to_waveform(network, back)
    assert again.x == pytest.approx(wave.x, abs=1e-12)
    assert again.drive == pytest.approx(wave.drive, abs=1e-12)


def zero_sequence(group, earthed=True):
    """Largest zero-sequence voltage on both sides while poles upstream open one after the other. [V]"""
    case = make_case(grid(earthed=earthed), breaker(), transformer("head", "tail", group=group),
                     shunt("tail", resistance_ohm=60.0, earthed=True), event(0.0203, "open"), duration=0.04)
    result = simulate(case, "waveform")
    return [np.abs(phases(result, name)[1].sum(axis=1) / 3.0).max() for name in ("head", "tail")]


@pytest.mark.parametrize("group", ["Dyn11", "Yd1", "Dd0", "YNd11", "Yyn0", "YNy0", "Yy6"])
def test_no_zero_sequence_beyond_an_unearthed_winding(group):
    """Delta and isolated star carry none through: with all poles gone or one, the far side stays balanced."""
    head, tail = zero_sequence(group)
    assert head > 100.0                     # one open phase unbalances the near side
    assert tail < 1e-9 * 1e4                # rounding


@pytest.mark.parametrize("group", ["YNyn0", "YNyn6"])
def test_two_earthed_stars_pass_the_zero_sequence(group):
    """Through 8 % leakage and 60 ohm behind: nearly all of it."""
    head, tail = zero_sequence(group)
    assert tail > 0.5 * head > 50.0


def test_earthed_star_shunts_the_zero_sequence_of_its_own_side():
    """YNd: the leakage reactance to earth. D on that side: none."""
    assert zero_sequence("YNd11")[0] < 0.8 * zero_sequence("Dd0")[0]


@pytest.mark.parametrize("group, hours", [("Dyn11", 11), ("Dyn1", 1), ("Yy6", 6), ("YNd5", 5), ("Dd0", 0)])
def test_clock_number_turns_the_phases(group, hours):
    """The low side lags by 30 degrees times the clock number: measured between zero crossings of phase a."""
    case = make_case(grid(), transformer("bus", "tail", group=group, to_kv=5.0), duration=0.04)
    result = simulate(case, "waveform")
    t, high = phases(result, "bus")
    low = phases(result, "tail")[1]
    turn = np.exp(-2j * np.pi * 50.0 * t[-1000:])     # the last period of 20 us samples
    ratio = (turn @ low[-1000:, 0]) / (turn @ high[-1000:, 0])
    assert abs(ratio) == pytest.approx(0.5, rel=1e-3)
    assert np.angle(ratio * np.exp(1j * np.pi / 6.0 * hours)) == pytest.approx(0.0, abs=1e-3)
