"""Means over a cycle against closed forms."""

from types import SimpleNamespace

import numpy as np
import pytest

from plots.curves.series import keep_within, list_flagged, mean_between, mean_over_cycle, read, switching_moments
from sim.results.run import Event


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


def test_single_poles_are_not_flagged_and_a_bypass_is_at_its_last_pole():
    """A soft starter closes twice; its poles are bypassed one after the other each time."""
    def bypass(at):
        return [Event(at + wait, "bypass", "feeder", f"feeder pole {pole} is bypassed", phase=pole)
                for pole, wait in zip("cba", (0.0, 3e-3, 7e-3))]
    close, load = Event(0.1, "close", "feeder", "feeder closes"), Event(2.004, "load", "pump", "pump load 50 %")
    again = Event(5.0, "close", "feeder", "feeder closes")
    first, second = bypass(2.0), bypass(7.0)
    events = [close, Event(0.1, "pole_close", "feeder", "feeder pole a closes", phase="a"), *first[:2], load, first[2],
              again, *second]
    told = [(event.t, event.label) for event in list_flagged(events)]
    assert told == [(0.1, "feeder closes"), (2.004, "pump load 50 %"), (2.007, "feeder is bypassed"),
                    (5.0, "feeder closes"), (7.007, "feeder is bypassed")]
