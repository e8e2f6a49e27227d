"""Outcomes of a start, on speed curves with known answers (definitions: sim.measures.starts.acceleration)."""

import numpy as np
import pytest

from sim.measures import summarise
from sim.report.run import write_report
from sim.results.run import Event

from ..synthetic import (
    BASE,
    RATED_SPEED,
    RATED_TORQUE,
    make_breaker,
    make_case,
    make_drive_case,
    make_envelope,
    make_event,
    make_outcome,
    make_run,
)

T = np.linspace(0.0, 20.0, 2001)


def read_motor(speed, case=None, t=T, frequency=50.0, outcome=None, **more):
    case = case or make_case()
    stretch = make_envelope(case, t, speed, frequency=frequency, torque=0.5 * RATED_TORQUE)
    summary = summarise(make_run(case, stretch, outcome=outcome, **more))
    return summary["motors"]["booster"], summary


def approach(level, constant, t=T):
    """First-order approach to a share of rated speed."""
    return level * RATED_SPEED * (1.0 - np.exp(-t / constant))


def test_first_order_approach_reaches_95_percent_at_minus_ln_005():
    motor, _ = read_motor(approach(1.0, 2.0))
    assert motor["outcome"] == "accelerated"
    # straight lines between samples 10 ms apart: (0.01)^2 / 8 of the curvature, far below 1e-4 s
    assert motor["time_to_speed_s"] == pytest.approx(-2.0 * np.log(0.05), abs=1e-4)


def test_time_counts_from_the_closing_of_the_breaker():
    case = make_case(
        breakers=[make_breaker(closed=False)], events=[make_event("close", "feeder_breaker", 3.0)]
    )
    speed = RATED_SPEED * np.clip((T - 3.0) / 4.0, 0.0, 1.0)
    motor, _ = read_motor(speed, case, events=[Event(3.0, "close", "feeder_breaker", "close")])
    assert motor["time_to_speed_s"] == pytest.approx(0.95 * 4.0, rel=1e-9)


def test_time_counts_from_the_start_of_the_drive():
    case = make_drive_case(events=[make_event("start", "host_drive", 1.0)])
    f = np.clip(50.0 * (T - 1.0) / 10.0, 0.0, 50.0)
    speed = RATED_SPEED * np.clip((T - 1.0) / 10.0, 0.0, 1.0)
    motor, _ = read_motor(speed, case, frequency=f, events=[Event(1.0, "start", "host_drive", "start")])
    assert motor["outcome"] == "accelerated"
    assert motor["time_to_speed_s"] == pytest.approx(9.5, rel=1e-9)


def test_a_drive_short_of_rated_frequency_sets_a_lower_final_speed():
    """At 40 Hz a four-pole machine turns at 1200 rpm less the rated slip of 15 rpm."""
    case = make_drive_case(target=40.0)
    final = 2.0 * np.pi * (1200.0 - 15.0) / 60.0
    motor, _ = read_motor(final * np.minimum(T / 10.0, 1.0), case, frequency=np.minimum(4.0 * T, 40.0))
    assert motor["outcome"] == "accelerated"
    assert motor["final_speed_rpm"] == pytest.approx(1185.0, rel=1e-9)
    assert motor["final_speed_pct"] == pytest.approx(100.0, rel=1e-9)


def test_speed_event_moves_the_target():
    """Up to 30 Hz first, then to 50 Hz from 10 s on: the first gives the time, the last the outcome."""
    case, sent = make_drive_case(target=30.0), [Event(10.0, "speed", "host_drive", "to 50 Hz", value=50.0)]
    f = np.interp(T, [0.0, 6.0, 10.0, 14.0], [1.5, 30.0, 30.0, 50.0])
    speed = np.maximum(4.0 * np.pi * f / 4 - (50.0 * np.pi - RATED_SPEED), 0.0)
    motor, _ = read_motor(speed, case, frequency=f, events=sent)
    assert motor["outcome"] == "accelerated"
    assert 5.0 < motor["time_to_speed_s"] < 6.0
    stuck, _ = read_motor(np.minimum(speed, 0.6 * RATED_SPEED), case, frequency=f, events=sent)
    assert stuck["outcome"] == "hung"


def test_a_log_without_values_leaves_a_drive_its_own_target():
    """A run file of format 1 told no values, and the events of the case are not asked: at 50 Hz 30 Hz is short."""
    case = make_drive_case(events=[make_event("speed", "host_drive", 0.0, to_hz=30.0)])
    f = np.minimum(5.0 * T, 30.0)
    log = [Event(0.0, "start", "host_drive", "starts", "not told"), Event(0.0, "speed", "host_drive", "to 30 Hz")]
    assert read_motor(np.maximum(2.0 * np.pi * f / 2 - 1.6, 0.0), case, frequency=f, events=log)[0]["outcome"] == "hung"


def test_hung_at_a_plateau():
    motor, summary = read_motor(approach(0.72, 1.5))
    assert motor["outcome"] == "hung"
    assert motor["final_speed_pct"] == pytest.approx(72.0, abs=0.01)
    assert motor["time_to_speed_s"] is None
    assert "hung at 72 %" in summary["sentence"]


def test_hung_in_spite_of_ripple():
    ripple = 1.0 + 0.01 * np.sin(2.0 * np.pi * 3.3 * T)
    assert read_motor(approach(0.8, 1.0) * ripple)[0]["outcome"] == "hung"


def test_still_gaining_speed_is_running_not_hung():
    motor, summary = read_motor(0.6 * RATED_SPEED * T / 20.0)
    assert motor["outcome"] == "running"
    assert summary["verdict"] == "not assessed"
    assert "lengthen study.duration_s" in summary["sentence"]


def test_falling_behind_a_ramp_is_hung():
    """The machine has pulled out at 20 % speed while the drive's frequency still rises."""
    case = make_drive_case()
    speed = np.where(T < 8.0, RATED_SPEED * T / 40.0, 0.2 * RATED_SPEED * np.exp(-(T - 8.0) / 20.0))
    assert read_motor(speed, case, frequency=1.5 + 2.0 * T)[0]["outcome"] == "hung"


def test_never_moved_is_stalled_and_names_the_trip():
    outcome = make_outcome(locked=True, moved=False, available=1000.0, tripped=10.0, reason="stall time")
    case = make_drive_case()
    motor, summary = read_motor(np.zeros(len(T)), case, outcome=outcome,
                                events=[Event(10.0, "trip", "host_drive", "", "stall time", False)])
    assert motor["outcome"] == "stalled"
    assert motor["trip_reason"] == "stall time"
    assert summary["verdict"] == "does not start"
    assert "stall time" in summary["sentence"]


def test_stopped_again_is_stalled():
    speed = RATED_SPEED * 0.3 * np.clip(np.minimum(T / 4.0, (8.0 - T) / 4.0), 0.0, None)
    assert read_motor(speed)[0]["outcome"] == "stalled"


def test_trip_on_the_way_up():
    speed = RATED_SPEED * np.minimum(T / 10.0, 0.5) * np.where(T > 5.0, np.exp(-(T - 5.0) / 2.0), 1.0)
    outcome = make_outcome(tripped=5.0, reason="overcurrent")
    motor, summary = read_motor(speed, outcome=outcome)
    assert motor["outcome"] == "tripped"
    assert motor["final_speed_pct"] == pytest.approx(50.0, rel=1e-9)
    assert "booster tripped at 50 % of rated speed, 5 s after first voltage (overcurrent)" in summary["sentence"]


def coasting(off):
    return RATED_SPEED * np.minimum(T / 4.0, 1.0) * np.where(T > off, np.exp(-(T - off) / 3.0), 1.0)


@pytest.mark.parametrize("lag", [None, 0.0, 0.007])
def test_planned_opening_after_success_leaves_it_accelerated(lag):
    """Whether the engine reports the machine as off or not, at the order or at its last pole."""
    case = make_case(events=[make_event("open", "feeder_breaker", 15.0)])
    outcome = make_outcome(tripped=None if lag is None else 15.0 + lag, reason="breaker opened")
    events = [
        Event(15.0, "open", "feeder_breaker", "open"),
        Event(15.007, "pole_open", "feeder_breaker", "pole a"),
    ]
    motor, summary = read_motor(coasting(15.0), case, outcome=outcome, events=events)
    assert motor["outcome"] == "accelerated"
    assert motor["final_speed_pct"] == pytest.approx(100.0, rel=1e-9)
    assert motor["trip_reason"] is None
    assert summary["verdict"] == "starts"


def test_unplanned_trip_after_success_is_tripped():
    outcome = make_outcome(tripped=15.0, reason="overcurrent")
    assert read_motor(coasting(15.0), outcome=outcome)[0]["outcome"] == "tripped"


def test_lost_speed_after_success_is_hung():
    speed = np.interp(T, [0.0, 4.0, 10.0, 12.0, 20.0], RATED_SPEED * np.array([0.0, 1.0, 1.0, 0.6, 0.6]))
    motor, _ = read_motor(speed)
    assert motor["outcome"] == "hung"
    assert motor["time_to_speed_s"] == pytest.approx(3.8, rel=1e-9)


def test_restart_is_judged_on_the_last_feeding():
    case = make_case(
        events=[make_event("open", "feeder_breaker", 8.0), make_event("close", "feeder_breaker", 10.0)]
    )
    events = [Event(8.0, "open", "feeder_breaker", "open"), Event(10.0, "close", "feeder_breaker", "close")]
    back = np.interp(T, [0.0, 4.0, 8.0, 10.0, 12.0], RATED_SPEED * np.array([0.0, 1.0, 1.0, 0.5, 1.0]))
    assert read_motor(back, case, events=events)[0]["outcome"] == "accelerated"
    lost = np.interp(T, [0.0, 4.0, 8.0, 10.0, 12.0], RATED_SPEED * np.array([0.0, 1.0, 1.0, 0.5, 0.6]))
    assert read_motor(lost, case, events=events)[0]["outcome"] == "hung"


def test_running_before_the_run_began():
    motor, summary = read_motor(np.full(len(T), RATED_SPEED))
    assert motor["outcome"] == "running"
    assert motor["time_to_speed_s"] is None
    assert summary["verdict"] == "not assessed"
    assert "no machine was started" in summary["sentence"]


def test_never_energised_is_not_started():
    case = make_case(breakers=[make_breaker(closed=False)])
    motor, _ = read_motor(
        np.zeros(len(T)), case, outcome=make_outcome(energised=False, moved=False, locked=True)
    )
    assert motor["outcome"] == "not started"
    assert motor["final_speed_rpm"] is None


def test_currents_per_unit_of_rated():
    """1000 A RMS of a 200 A motor is 5 pu; an offset phase peak of 2545.6 A is 9 pu of the rated crest."""
    case = make_case()
    stretch = make_envelope(case, T, approach(1.0, 2.0), BASE, current=1000.0)
    for name in "abc":
        stretch.signals["booster"][f"current_{name}"] = np.where(T < 0.02, -9.0 * np.sqrt(2.0) * 200.0, 0.0)
    motor = summarise(make_run(case, stretch))["motors"]["booster"]
    assert motor["peak_current_pu"] == pytest.approx(5.0, rel=1e-12)
    assert motor["peak_instantaneous_current_pu"] == pytest.approx(9.0, rel=1e-12)


def test_peak_torque_counts_in_either_direction():
    """A swing to -8 times rated torque is 800 %; without a twisting shaft there is no shaft torque."""
    case = make_case()
    stretch = make_envelope(case, T, approach(1.0, 2.0), BASE, current=1000.0)
    rated = case.machines[0].motor.rated_torque_nm
    stretch.signals["booster"]["torque"] = np.where(T < 0.02, -8.0 * rated, rated)
    motor = summarise(make_run(case, stretch))["motors"]["booster"]
    assert motor["peak_torque_pct"] == pytest.approx(800.0, rel=1e-12)
    assert motor["peak_shaft_torque_pct"] is None


def say(summary):
    """Of what 95 % is counted: JSON's words, its number [rpm], and the words of sentence and table together."""
    motor = summary["motors"]["booster"]
    return motor["time_to_speed_of"], motor["at_speed_rpm"], write_report("", summary)


RATED_RPM = 1485.0


@pytest.mark.parametrize("level", [1.0, 1500.0 / 1485.0], ids=["loaded", "unloaded"])
def test_time_is_to_95_percent_of_rated_speed_whatever_the_load(level):
    """A first-order approach to rated or to synchronous speed passes 0.95 of rated speed at -2 ln(1 - 0.95 / level)."""
    motor, summary = read_motor(approach(level, 2.0))
    assert motor["time_to_speed_s"] == pytest.approx(-2.0 * np.log(1.0 - 0.95 / level), abs=1e-4)
    of, rpm, table = say(summary)
    assert of == "95 % of rated speed" and rpm == pytest.approx(0.95 * RATED_RPM)
    assert "reaches 95 % of rated speed in" in summary["sentence"] and "to 95 % of rated speed" in table
    row = next(row for row in summary["criteria"] if row["id"] == "time_to_speed")
    assert "95 % of rated speed" in row["quantity"] and row["value"] == motor["time_to_speed_s"]


def test_at_a_lower_frequency_rated_speed_there_counts_and_is_named():
    """At 40 Hz 1200 rpm less the rated slip of 15 rpm."""
    case = make_drive_case(target=40.0)
    speed = 2.0 * np.pi * 1185.0 / 60.0 * np.minimum(T / 10.0, 1.0)
    motor, summary = read_motor(speed, case, frequency=np.minimum(4.0 * T, 40.0))
    assert motor["time_to_speed_s"] == pytest.approx(9.5, rel=1e-9)
    of, rpm, _ = say(summary)
    assert of == "95 % of rated speed at 40 Hz" and rpm == pytest.approx(0.95 * 1185.0)
    assert "booster reaches 95 % of rated speed at 40 Hz in 9.5 s" in summary["sentence"]


def test_time_belongs_to_the_frequency_asked_when_it_was_reached():
    """Sent to 30 Hz, then to 50 Hz: the time is that to 95 % at 30 Hz, and the words say so."""
    case, sent = make_drive_case(target=30.0), [Event(10.0, "speed", "host_drive", "to 50 Hz", value=50.0)]
    f = np.interp(T, [0.0, 6.0, 10.0, 14.0], [1.5, 30.0, 30.0, 50.0])
    motor, summary = read_motor(np.maximum(2.0 * np.pi * f / 2 - 1.6, 0.0), case, frequency=f, events=sent)
    assert say(summary)[:2] == ("95 % of rated speed at 30 Hz", pytest.approx(0.95 * 885.0))
    assert motor["final_speed_pct"] == pytest.approx(100.0, abs=0.1)             # of rated speed at 50 Hz


def test_a_stalled_start_says_what_it_missed():
    motor, summary = read_motor(np.zeros(len(T)), outcome=make_outcome(locked=True, moved=False, available=1000.0))
    assert motor["outcome"] == "stalled" and motor["time_to_speed_s"] is None
    assert say(summary)[:2] == ("95 % of rated speed", pytest.approx(0.95 * RATED_RPM))


def test_a_machine_never_fed_has_no_speed_to_reach():
    case = make_case(breakers=[make_breaker(closed=False)])
    outcome = make_outcome(energised=False, moved=False, locked=True)
    motor, _ = read_motor(np.zeros(len(T)), case, outcome=outcome)
    assert motor["time_to_speed_of"] is None and motor["at_speed_rpm"] is None
