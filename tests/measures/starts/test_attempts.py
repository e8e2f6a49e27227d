"""A start ends with the first end that was ordered; what brings a drive down again later is no failed start."""

import numpy as np
import pytest

from sim.measures import summarise
from sim.measures.starts.attempts import cut_attempts
from sim.measures.supply import Span
from sim.results.run import Event

from ..synthetic import (
    RATED_SPEED,
    RATED_TORQUE,
    T0_TO_10,
    make_breaker,
    make_case,
    make_drive_case,
    make_envelope,
    make_outcome,
    make_run,
)

T = np.linspace(0.0, 20.0, 2001)
UNDERVOLTAGE = "undervoltage of the drive's direct-voltage link"


def order(t, what, value=None):
    return Event(t, what, "host_drive", "", value=value)


def cut(*events):
    spans = [Span(0.0, 8.0, "host_drive", "stop", True)]
    found = cut_attempts(make_run(make_drive_case(), T0_TO_10, events=list(events)), spans)
    return [(span.start, span.end, span.ended_by) for span in found]


def read(speed, frequency=50.0, case=None, outcome=None, events=()):
    case = case or make_drive_case()
    stretch = make_envelope(case, T, speed, frequency=frequency, torque=0.5 * RATED_TORQUE)
    return summarise(make_run(case, stretch, outcome=outcome, events=list(events)))


def test_span_without_a_controlled_stop_is_one_attempt():
    assert cut(order(0.0, "start"), order(5.0, "speed", 30.0)) == [(0.0, 8.0, "stop")]


def test_controlled_stop_ends_an_attempt():
    assert cut(order(5.0, "ramp_down", 1.5), order(6.0, "ramp_down", 1.5)) == [(0.0, 5.0, "ramp_down")]


def test_start_before_the_end_of_a_controlled_stop_begins_another():
    assert cut(order(5.0, "ramp_down"), order(6.0, "start")) == [(0.0, 5.0, "ramp_down"), (6.0, 8.0, "stop")]


def test_controlled_stop_of_another_drive_ends_nothing():
    assert cut(Event(5.0, "ramp_down", "other_drive", "")) == [(0.0, 8.0, "stop")]


def test_a_controlled_stop_at_once_leaves_no_attempt():
    assert cut(order(0.0, "ramp_down")) == []


# up in 8 s, down again from 12 s on within 7 s, blocked at 19 s
LIFE = np.interp(T, [0.0, 8.0, 12.0, 19.0], [0.0, 1.0, 1.0, 0.03])
ENDS = {"controlled stop": [order(12.0, "ramp_down", 1.5),
                            Event(19.0, "stop", "host_drive", "", "its ramp down ended")],
        "blocked": [order(12.0, "stop")],
        "trip on the way down": [order(12.0, "ramp_down", 1.5),
                                 Event(15.0, "trip", "host_drive", "", "overcurrent", False)]}


@pytest.mark.parametrize("how", ENDS)
def test_a_good_start_stays_good_whatever_was_ordered_later(how):
    outcome = make_outcome(tripped=15.0, reason="overcurrent") if how.startswith("trip") else None
    summary = read(RATED_SPEED * LIFE, np.maximum(50.0 * LIFE, 1.5), outcome=outcome, events=ENDS[how])
    motor = summary["motors"]["booster"]
    assert motor["outcome"] == "accelerated"
    assert motor["time_to_speed_s"] == pytest.approx(0.95 * 8.0, rel=1e-9)
    assert motor["final_speed_pct"] == pytest.approx(100.0, rel=1e-9)
    assert summary["verdict"] == "starts"


def test_a_start_called_off_on_its_way_is_not_judged_by_where_it_ended():
    """At 60 % and still rising when the stop was ordered: not assessed, neither hung nor accelerated."""
    speed = RATED_SPEED * np.interp(T, [0.0, 6.0, 12.0], [0.0, 0.6, 0.03])
    summary = read(speed, np.maximum(50.0 * speed / RATED_SPEED, 1.5), events=[order(6.0, "ramp_down", 1.5)])
    assert summary["motors"]["booster"]["outcome"] == "running"
    assert summary["motors"]["booster"]["final_speed_pct"] == pytest.approx(60.0, rel=1e-9)
    assert summary["verdict"] == "not assessed"


def test_a_plateau_before_a_controlled_stop_is_hung():
    speed = RATED_SPEED * np.interp(T, [0.0, 3.0, 12.0, 15.0], [0.0, 0.6, 0.6, 0.03])
    summary = read(speed, 50.0, events=[order(12.0, "ramp_down", 1.5)])
    assert summary["motors"]["booster"]["outcome"] == "hung"


def test_a_restart_that_hangs_after_a_controlled_stop_decides():
    speed = RATED_SPEED * np.interp(T, [0.0, 4.0, 6.0, 9.0], [0.0, 1.0, 1.0, 0.5])
    events = [order(6.0, "ramp_down", 1.5), order(9.0, "start", 50.0)]
    assert read(speed, 50.0, events=events)["motors"]["booster"]["outcome"] == "hung"


def read_after_trip(*more, energised):
    """A motor behind an open breaker whose drive trips at 1 s; it never turns."""
    events = [Event(1.0, "trip", "host_drive", "host_drive trips", UNDERVOLTAGE, False), *more]
    outcome = make_outcome(energised=energised, moved=False, tripped=1.0, reason=UNDERVOLTAGE)
    return read(np.zeros(len(T)), 50.0, make_drive_case(breakers=[make_breaker(closed=False)]), outcome, events)


def test_drive_that_trips_before_its_motor_saw_voltage():
    """No start, and the reader learns why."""
    summary = read_after_trip(energised=False)
    motor = summary["motors"]["booster"]
    assert motor["outcome"] == "not started"
    assert motor["trip_reason"] == UNDERVOLTAGE
    assert motor["time_to_speed_s"] is None and motor["final_speed_rpm"] is None
    assert summary["verdict"] == "not assessed"


def test_drive_that_trips_and_restarts_is_judged_by_its_restart():
    """The breaker closes and the drive restarts: the motor saw voltage and stood still."""
    summary = read_after_trip(Event(2.0, "close", "feeder_breaker", ""),
                              Event(3.0, "start", "host_drive", "", "restart after a trip", False, value=50.0),
                              energised=True)
    motor = summary["motors"]["booster"]
    assert motor["outcome"] == "stalled" and motor["trip_reason"] is None
    assert summary["verdict"] == "does not start"


def test_a_machine_never_fed_without_a_trip_names_none():
    case = make_case(breakers=[make_breaker(closed=False)])
    motor = read(np.zeros(len(T)), 50.0, case, make_outcome(energised=False, moved=False))["motors"]["booster"]
    assert motor["outcome"] == "not started" and motor["trip_reason"] is None
