"""Means over a cycle against closed forms."""

from types import SimpleNamespace

import numpy as np
import pytest

from plots.curves.series import keep_within, mean_between, mean_over_cycle, read, switching_moments
from sim.result import Event


def test_mean_removes_whole_cycles():
    t = np.linspace(0.0, 0.5, 20_001)
    middles, mean = mean_over_cycle(t, 3.0 + np.sin(2.0 * np.pi * 50.0 * t), 50.0)
    assert middles[0] == 0.0 and middles[-1] == 0.5
    # the trapezium rule is exact on whole periods of a sine but for rounding of the window's edges
    np.testing.assert_allclose(mean, 3.0, atol=1e-6)


def test_jump_stays_where_it_is():
    t = np.linspace(0.0, 1.0, 10_001)
    y = np.where(t > 0.3, 5.0, 1.0)
    middles, mean = mean_between(t, y, 50.0, [0.3])
    np.testing.assert_allclose(mean[middles <= 0.3], 1.0, rtol=1e-12)
    np.testing.assert_allclose(mean[middles > 0.3], 5.0, rtol=1e-12)


def test_short_signals_are_left_alone():
    t = np.linspace(0.0, 0.03, 50)
    assert mean_over_cycle(t, t, 50.0)[1] is t


def test_moments_outside_the_run_do_not_matter():
    t = np.linspace(0.0, 1.0, 5_001)
    np.testing.assert_array_equal(mean_between(t, t, 50.0, [-1.0, 2.0])[1], mean_over_cycle(t, t, 50.0)[1])


def test_keep_within_spans():
    t = np.arange(6.0)
    kept = keep_within(t, t, [(1.0, 2.0), (4.0, 4.0)])
    np.testing.assert_array_equal(kept, [np.nan, 1, 2, np.nan, 4, np.nan])


@pytest.mark.parametrize("answer", [None, (np.empty(0), np.empty(0)), (np.arange(2.0), np.full(2, np.nan))])
def test_signals_without_values_read_as_none(drive_run, answer, monkeypatch):
    monkeypatch.setattr(type(drive_run), "signal", lambda self, name, quantity: answer)
    assert read(drive_run, "booster", "speed") is None


def test_a_breaker_closes_with_its_last_pole():
    """Ordered at 0.1 s; its poles, told to wait for a point on wave, close up to 12 ms later."""
    poles = [Event(0.1 + wait, "pole_close", "feeder", f"feeder pole {pole} closes", phase=pole)
             for pole, wait in zip("abc", (5e-3, 12e-3, 8e-3))]
    events = [Event(0.1, "close", "feeder", "feeder closes"), *poles, Event(0.5, "open", "feeder", "feeder opens")]
    assert switching_moments(SimpleNamespace(events=events)) == [0.112, 0.5]
