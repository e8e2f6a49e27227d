"""The envelope engine alone: a discharge in closed form within its tolerance, in any frame."""

import numpy as np
import pytest

from engines.circuits import fixed_envelope
from engines.discharge import exact, network, start
from sim.engines.envelope.engine import EnvelopeEngine

DURATION = 5e-3


def discharge(make, frame=0.0):
    """Largest error of voltage and current per unit of their largest values, and the engine."""
    net = network()
    state, sign = start(net)
    sources = net.tables.sources
    net = net.__class__(**{**net.__dict__, "tables": net.tables._replace(
        sources=sources._replace(volts=0.0 * sources.volts, w=np.full_like(sources.w, frame)))})
    state.live[:] = 1                   # of no voltage: it only sets the frame
    b = 1 + sources.link[0]
    v, i = state.x[0], sign * state.x[b]
    engine = make(net, state)
    engine.advance(state, 0.0, DURATION)
    samples = engine.joined()
    turn = np.exp(1j * frame * samples.t)[:, None]
    found = turn * np.stack([samples.v[:, 0], sign * samples.i[:, b - 1]], axis=1)
    expected = exact(net, v, i, samples.t)
    return (np.abs(found - expected).max(axis=0) / np.abs(expected).max(axis=0)).max(), engine


@pytest.mark.parametrize("frame", [0.0, 314.0])
def test_error_follows_the_tolerance(frame):
    """Per step the tolerance holds per unit of nominal; the discharge is a hundred steps of a damped oscillation."""
    errors = [discharge(lambda net, state, tolerance=tolerance: EnvelopeEngine(net, tolerance, 1e-3), frame)[0]
              for tolerance in (1e-4, 1e-6)]
    assert errors[0] < 1e-2 and errors[1] < 1e-4
    assert errors[1] < 0.1 * errors[0]


def test_fixed_steps_are_of_order_four():
    errors = [discharge(lambda net, state, step=step: fixed_envelope(net, step, state=state))[0]
              for step in (5e-5, 2.5e-5)]
    assert errors[0] / errors[1] == pytest.approx(16.0, rel=0.35) and errors[1] < 1e-4


def test_steps_are_no_longer_than_asked():
    """A discharge that is over: the tolerance allows any step, the curves do not."""
    net = network()
    state, _ = start(net)
    engine = EnvelopeEngine(net, 1e-2, 2e-4)
    engine.advance(state, 0.0, 0.05)
    assert np.diff(engine.joined().t).max() <= 2e-4 * (1.0 + 1e-9)
