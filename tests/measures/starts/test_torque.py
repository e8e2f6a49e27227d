"""Torque left over, on curves with known answers.

Torque-speed curve: the two-constant form T = 2 Tm / (s/sm + sm/s), common in textbooks of electrical
machines as the simplified Kloss formula (from memory, to be checked).  Expected minima are found here by
fine search over the same closed form.
"""

import numpy as np
import pytest

from sim.measures import summarise
from sim.results.run import Event

from ..synthetic import (
    RATED_SPEED,
    RATED_TORQUE,
    make_case,
    make_drive_case,
    make_envelope,
    make_event,
    make_machine,
    make_outcome,
    make_run,
)

SYNCHRONOUS = 50.0 * np.pi
T = np.linspace(0.0, 20.0, 20001)


def kloss(speed):
    slip = 1.0 - speed / SYNCHRONOUS
    return 2.0 * 2.0 * RATED_TORQUE / (slip / 0.1 + 0.1 / np.maximum(slip, 1e-6))


def pump(speed):
    return 0.3 * RATED_TORQUE * (speed / SYNCHRONOUS) ** 2


def read(case=None, speed=None, torque=None, load=None, outcome=None, **more):
    case = case or make_case()
    speed = RATED_SPEED * np.minimum(T / 10.0, 1.0) if speed is None else speed
    stretch = make_envelope(case, T, speed, torque=kloss(speed) if torque is None else torque,
                            load=pump(speed) if load is None else load)
    return summarise(make_run(case, stretch, outcome=outcome, **more))


def rows(summary, id):
    return [row for row in summary["criteria"] if row["id"] == id]


def test_least_accelerating_torque_and_its_speed():
    motor = read()["motors"]["booster"]
    speed = np.linspace(0.05, 0.95, 100001) * RATED_SPEED
    left = (kloss(speed) - pump(speed)) / RATED_TORQUE
    # a window spans 0.2 % of speed, and the ends of the range are met within one half cycle
    assert motor["min_accelerating_torque_pct"] == pytest.approx(100.0 * left.min(), abs=0.2)
    assert motor["min_accelerating_torque_at_pct"] == pytest.approx(
        100.0 * speed[left.argmin()] / RATED_SPEED, abs=0.3)


def test_supply_frequency_ripple_is_averaged_out():
    speed = RATED_SPEED * np.minimum(T / 10.0, 1.0)
    ripple = 3.0 * RATED_TORQUE * np.sin(2.0 * np.pi * 50.0 * T)
    calm, rough = read(), read(torque=kloss(speed) + ripple)
    # 20 samples a cycle: the trapezium rule sums a whole sine to nothing up to rounding of the edges
    assert rough["motors"]["booster"]["min_accelerating_torque_pct"] == pytest.approx(
        calm["motors"]["booster"]["min_accelerating_torque_pct"], abs=0.1)


def test_hung_machine_fails_on_torque():
    speed = 0.7 * RATED_SPEED * (1.0 - np.exp(-T / 1.0))
    summary = read(speed=speed, torque=RATED_TORQUE * np.exp(-T), load=0.0)
    row, = rows(summary, "accelerating_torque")
    assert row["level"] == "fail"
    assert row["value"] == pytest.approx(0.0, abs=1e-4)      # exp(-20)
    assert summary["verdict"] == "does not start"


def test_behind_a_drive_the_ramp_decides_unless_it_hung():
    row, = rows(read(make_drive_case()), "accelerating_torque")
    assert row["level"] == "not assessed"
    assert row["value"] is not None
    assert "ramp" in row["reason"]
    hung = read(make_drive_case(), speed=0.6 * RATED_SPEED * (1.0 - np.exp(-T)), torque=0.0, load=0.0)
    assert rows(hung, "accelerating_torque")[0]["level"] == "fail"


def test_stalled_machine_names_both_torques():
    outcome = make_outcome(locked=True, moved=False, available=0.14 * RATED_TORQUE)
    summary = read(speed=np.zeros(len(T)), torque=0.14 * RATED_TORQUE, outcome=outcome)
    assert summary["motors"]["booster"]["breakaway_torque_available_pct"] == pytest.approx(
        14.0 / 0.3, rel=1e-9
    )
    assert summary["sentence"] == (
        "does not start: booster stalled at zero speed; torque reached 14 % of rated, breakaway needs 30 %"
    )
    row, = rows(summary, "breakaway")
    assert row["level"] == "fail"
    assert row["margin_pct"] == pytest.approx(100.0 * (0.14 / 0.3 - 1.2) / 1.2, rel=1e-9)


def test_a_shaft_that_moved_hides_its_breakaway_margin():
    """The engine saw just the breakaway torque; nothing near standstill shows more."""
    outcome = make_outcome(available=0.301 * RATED_TORQUE)
    row, = rows(read(torque=0.301 * RATED_TORQUE, load=0.0, outcome=outcome), "breakaway")
    assert row["level"] == "not assessed"
    assert row["value"] == pytest.approx(0.301 / 0.3, rel=1e-9)


def test_torque_near_standstill_shows_what_was_to_come():
    outcome = make_outcome(available=0.301 * RATED_TORQUE)
    row, = rows(read(torque=0.5 * RATED_TORQUE, outcome=outcome), "breakaway")
    assert row["value"] == pytest.approx(0.5 / 0.3, rel=1e-9)
    assert row["level"] == "pass"


def test_a_peak_within_a_cycle_does_not_count_as_available():
    """10 % mean with a ripple of 15 % at supply frequency: 25 % was seen, 10 % would have had to carry."""
    outcome = make_outcome(locked=True, moved=False, available=0.25 * RATED_TORQUE)
    torque = RATED_TORQUE * (0.1 + 0.15 * np.sin(2.0 * np.pi * 50.0 * T))
    for case in (make_case(), make_drive_case()):
        motor = read(case, speed=np.zeros(len(T)), torque=torque, outcome=outcome)["motors"]["booster"]
        assert motor["outcome"] == "stalled"
        assert motor["breakaway_torque_available_pct"] == pytest.approx(100.0 / 3.0, rel=1e-6)


def test_a_shaft_that_stopped_again_is_judged_by_the_torque_it_was_left_with():
    """Mean torque dies from 40 % to 20 % with 1 s; breakaway needs 30 %: it went and came back."""
    speed = 0.02 * RATED_SPEED * np.exp(-T / 0.2) * np.minimum(T / 0.05, 1.0)
    torque = RATED_TORQUE * (0.2 + 0.2 * np.exp(-T))
    summary = read(speed=speed, torque=torque, outcome=make_outcome(locked=True))
    left = summary["motors"]["booster"]["breakaway_torque_available_pct"]
    assert left == pytest.approx(200.0 / 3.0, rel=1e-6)
    assert summary["sentence"] == ("does not start: booster stopped again, torque left is 20 % of rated, "
                                   "breakaway needs 30 %")


def test_behind_a_drive_the_torque_that_moved_the_shaft_counts():
    """Mean 0.2 over the long first cycles, 0.33 at the moment the shaft went: 110 % of breakaway."""
    outcome = make_outcome(available=0.33 * RATED_TORQUE)
    row, = rows(read(make_drive_case(), torque=0.2 * RATED_TORQUE, outcome=outcome), "breakaway")
    assert row["value"] == pytest.approx(1.1, rel=1e-9)
    assert row["level"] == "not assessed"


def test_a_step_of_the_load_before_the_start_scales_breakaway():
    """The last one before it: the log has another at 2 s, and the case one that never came."""
    case = make_case(events=[make_event("load", "booster", 0.0, load_pu=0.1)])
    steps = [Event(t, "load", "booster", "", value=value) for t, value in ((2.0, 0.9), (0.0, 0.5))]
    motor = read(case, torque=0.3 * RATED_TORQUE, events=steps)["motors"]["booster"]
    assert motor["breakaway_torque_available_pct"] == pytest.approx(200.0, rel=1e-9)


def test_a_step_without_its_value_leaves_the_load_as_the_case_has_it():
    """As in a run file of format 1, whose log told no values."""
    step = Event(0.0, "load", "booster", "booster load 50 %")
    motor = read(torque=0.3 * RATED_TORQUE, events=[step])["motors"]["booster"]
    assert motor["breakaway_torque_available_pct"] == pytest.approx(100.0, rel=1e-9)


def test_no_breakaway_is_not_assessed():
    case = make_case(machines=[make_machine(breakaway=0.0)])
    summary = read(case)
    assert summary["motors"]["booster"]["breakaway_torque_available_pct"] is None
    assert rows(summary, "breakaway")[0]["level"] == "not assessed"


@pytest.mark.parametrize("kind, curve, percent", [
    ("pump", {}, 400.0), ("table", {"torque_pu": [0.4, 1.0]}, 200.0),
    ("table", {"torque_pu": [0.1, 1.0]}, 400.0),
    ("compressor", {"constant_pu": 0.32}, 250.0), ("none", {}, None),
])
def test_breakaway_of_every_kind_of_load(kind, curve, percent):
    """80 % of rated torque at standstill; breakaway 20 %, or the curve's own start where that is more."""
    machine = make_machine(breakaway=0.2)
    vars(machine.load).update(kind=kind, **curve)
    motor = read(make_case(machines=[machine]), torque=0.8 * RATED_TORQUE)["motors"]["booster"]
    expected = None if percent is None else pytest.approx(percent, rel=1e-9)
    assert motor["breakaway_torque_available_pct"] == expected
