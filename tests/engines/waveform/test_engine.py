"""The waveform engine alone: a discharge in closed form, its order, what it stores and where it stops."""

import numpy as np
import pytest

from engines.circuits import breaker, build, event, grid, node, shunt, steady_envelope
from engines.discharge import exact, network, start
from sim.engines.handover import to_waveform
from sim.engines.stored import stored_energy
from sim.engines.waveform.engine import WaveformEngine, choose_steps, copy_state, restore_state


def discharge(step, duration=5e-3, stride=1):
    """Engine, its state and the exact alpha components (v, i) at the stored times."""
    net = network()
    first, sign = start(net)
    state, b = to_waveform(net, first), net.tables.sources.link[0] + 1
    v, i = state.x[0, 0], sign * state.x[0, b]
    engine = WaveformEngine(net, step, stride)
    engine.advance(state, 0.0, duration)
    samples = engine.recorder.joined()
    found = np.stack([samples.v[:, 0, 0], sign * samples.i[:, 0, b - 1]], axis=1)
    return engine, state, found, exact(net, v, i, samples.t), samples


def test_discharge_follows_the_matrix_exponential_with_order_two():
    """The circuit swings at 8900 rad/s: after 5 ms an error of 0.7 % at 10 us, a hundredth of it at 1 us."""
    errors = []
    for step in (4e-6, 2e-6, 1e-6):
        _, _, found, expected, _ = discharge(step)
        errors.append((np.abs(found - expected).max(axis=0) / np.abs(expected).max(axis=0)).max())
    assert errors[-1] < 1.5e-4
    assert errors[0] / errors[1] == pytest.approx(4.0, rel=0.15)
    assert errors[1] / errors[2] == pytest.approx(4.0, rel=0.1)


def test_books_hold_what_the_resistances_took():
    """Nothing is delivered; losses are what the stored energy fell by.  The error of the weights is of the method's
    order: (w h)^2 is 8e-5 at 1 us."""
    net = network()
    first, _ = start(net)
    state = to_waveform(net, first)
    before = stored_energy(net, state.x)
    WaveformEngine(net, 1e-6).advance(state, 0.0, 5e-3)
    assert state.energy[0] == 0.0 and state.energy[2] == 0.0
    assert state.energy[1] == pytest.approx(before - stored_energy(net, state.x), rel=1e-5)


@pytest.mark.parametrize("stride", [1, 7])
def test_every_stride_th_step_is_stored(stride):
    engine, _, _, _, samples = discharge(1e-5, stride=stride)
    assert engine.steps == 500
    assert samples.t == pytest.approx(1e-5 * stride * np.arange(1, 500 // stride + 1), rel=1e-9)


def test_a_remainder_is_a_step_of_its_own():
    """5 ms and a third of a step: the end is reached to rounding, and with it the exact course."""
    engine, _, found, expected, samples = discharge(1e-6, 5e-3 + 1e-6 / 3.0)
    assert engine.steps == 5001 and samples.t[-1] == pytest.approx(5e-3 + 1e-6 / 3.0, rel=1e-12)
    assert found[-1] == pytest.approx(expected[-1], rel=1e-3)


def test_a_state_can_be_kept_and_taken_back():
    _, state, *_ = discharge(1e-4, 1e-3)
    kept = copy_state(state)
    for part in state:
        part[...] = 7
    restore_state(state, kept)
    assert all(np.array_equal(part, old) for part, old in zip(state, kept))


@pytest.mark.parametrize("study, step", [({"bandwidth_khz": 5.0}, 4e-6), ({"bandwidth_khz": 1.0}, 2e-5),
                                         ({"bandwidth_khz": 1.0, "waveform_step_us": 3.0}, 3e-6)])
def test_step_resolves_the_bandwidth_fifty_times_unless_it_is_given(study, step):
    case, network = build(grid(), shunt("bus", resistance_ohm=10.0), **study)
    assert choose_steps(case.study, network.bands) == pytest.approx((step, step))


def test_a_band_of_the_networks_own_takes_fine_steps_for_a_while_after_a_pole_has_moved():
    """Supply and stray capacitance behind a breaker: regular steps of 4 us, a whole number of finer ones within each,
    which end when the fast part has faded; before the pole moves there are none."""
    case, network = build(grid(), breaker(closed=False), node("head", stray_nf=20.0),
                          event(1.0, "close"), duration=2.0)
    regular, fine = choose_steps(case.study, network.bands)
    assert regular == pytest.approx(4e-6) and regular / fine == pytest.approx(round(regular / fine))
    assert fine <= 1.0 / (50.0 * network.bands.study) * (1.0 + 1e-9) < regular
    engine = WaveformEngine(network, regular, fine=fine)
    state = to_waveform(network, steady_envelope(network))
    begun, _ = engine.advance(state, 0.0, 1e-3)
    assert engine.steps == pytest.approx(250, abs=1)
    engine.gear.order_close(0, begun)
    settle = network.bands.settle
    t, _ = engine.advance(state, begun, begun + settle)
    assert engine.steps - 250 == pytest.approx(settle / fine, rel=0.01)
    before = engine.steps
    engine.advance(state, t, t + 2.0 * settle)
    assert engine.steps - before < 1.2 * 2.0 * settle / regular + 0.1 * settle / fine


def test_progress_is_told_in_time():
    _, net = build(grid(), shunt("bus", resistance_ohm=10.0))
    first, _ = start(net)
    told = []
    engine = WaveformEngine(net, 1e-6)
    reached, alert = engine.advance(to_waveform(net, first), 0.0, 0.01, told.append)
    assert alert is None and reached == pytest.approx(0.01)
    assert told == sorted(told) and told[-1] == pytest.approx(0.01)
