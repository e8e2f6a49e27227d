"""The rule that turns outcomes and criteria into one word (sim.measures.verdict.verdict)."""

from types import SimpleNamespace

import numpy as np
import pytest

from sim.measures import summarise
from sim.measures.starts.acceleration import Start
from sim.measures.verdict.grade import find_grade
from sim.measures.verdict.verdict import decide
from sim.results.run import EnergyBalance

from ..synthetic import (
    BASE,
    RATED_SPEED,
    RATED_TORQUE,
    make_breaker,
    make_case,
    make_drive_case,
    make_envelope,
    make_machine,
    make_node,
    make_run,
)

T = np.linspace(0.0, 10.0, 2001)
GOOD = Start("a", "accelerated", reached=5.0, began=0.0)


def level(word):
    return [{"level": "pass"}, {"level": word}, {"level": "not assessed"}]


@pytest.mark.parametrize("failure, starts, judged, verdict", [
    (None, [GOOD], level("pass"), "starts"),
    (None, [GOOD], level("marginal"), "marginal"),
    (None, [GOOD], level("fail"), "marginal"),
    (None, [GOOD], level("not assessed"), "starts"),
    ("step too small", [GOOD], level("pass"), "not assessed"),
    (None, [], level("pass"), "not assessed"),
    (None, [Start("a", "not started")], level("pass"), "not assessed"),
    (None, [Start("a", "running", was_running=True)], level("pass"), "not assessed"),
    (None, [GOOD, Start("b", "running", was_running=True)], level("pass"), "starts"),
    (None, [GOOD, Start("b", "running")], level("pass"), "not assessed"),
    (None, [GOOD, Start("b", "not started")], level("pass"), "starts"),
    (None, [GOOD, Start("b", "hung")], level("pass"), "does not start"),
    (None, [GOOD, Start("b", "tripped")], level("pass"), "does not start"),
    (None, [Start("b", "stalled"), Start("c", "running")], level("fail"), "does not start"),
])
def test_rule(failure, starts, judged, verdict):
    assert decide(failure, starts, judged) == verdict


def test_sentence_of_a_good_start(good_start):
    # worst of: voltage 100 %, torque (40 - 10) / 10, breakaway (2.0 - 1.2) / 1.2, energy 1 - 0.00909 / 0.1
    assert summarise(good_start)["sentence"] == (
        "starts: booster reaches 95 % of rated speed in 4.75 s; worst margin 67 % (breakaway at booster)")


def test_failed_criterion_is_named_but_does_not_undo_the_start(good_start):
    good_start.energy = EnergyBalance(100.0, 0.0, 0.0, 90.0, 100.0)
    summary = summarise(good_start)
    assert summary["verdict"] == "marginal"
    assert summary["sentence"] == (
        "marginal: booster reaches 95 % of rated speed in 4.75 s; fails energy residual at run "
        "(10 against 0.1 % of throughput)"
    )


def test_sag_at_the_neighbours_spoils_but_does_not_stop_a_start():
    case = make_case()
    stretch = make_envelope(case, T, RATED_SPEED * np.minimum(T / 5.0, 1.0), 0.82 * BASE, torque=RATED_TORQUE)
    summary = summarise(make_run(case, stretch))
    assert summary["verdict"] == "marginal"
    assert "bus voltage at host (82 against 85 % of nominal)" in summary["sentence"]


def test_only_the_worst_failures_are_named():
    case = make_case(nodes=[make_node(name) for name in ("host", "motor_bus", "b", "c")])
    stretch = make_envelope(case, T, RATED_SPEED * np.minimum(T / 5.0, 1.0), 0.82 * BASE, torque=RATED_TORQUE)
    stretch.signals["b"]["voltage"][:] = 0.6 * BASE
    case.breakers += [make_breaker("to_b", "host", "b"), make_breaker("to_c", "host", "c")]
    sentence = summarise(make_run(case, stretch))["sentence"]
    assert "fails bus voltage at b (60 against 85 % of nominal), bus voltage at " in sentence
    assert sentence.endswith(" and 1 more")


def test_incomplete_run_is_not_assessed(good_start):
    good_start.failure = "the step fell below its floor at 9.1 s"
    summary = summarise(good_start)
    assert summary["verdict"] == "not assessed"
    assert summary["motors"]["booster"]["time_to_speed_s"] is not None


def test_two_machines_share_one_sentence():
    case = make_case(machines=[make_machine("first"), make_machine("second")])
    stretch = make_envelope(case, T, RATED_SPEED * np.minimum(T / 5.0, 1.0), torque=RATED_TORQUE)
    stretch.signals["second"]["speed"] = 0.6 * RATED_SPEED * (1.0 - np.exp(-T))
    summary = summarise(make_run(case, stretch))
    assert summary["verdict"] == "does not start"
    assert summary["sentence"].startswith("does not start: second hung at 60 % of rated speed")


def test_drive_start_is_not_held_to_the_direct_start_voltage():
    case = make_drive_case()
    summary = summarise(
        make_run(case, make_envelope(case, T, RATED_SPEED * np.minimum(T / 5.0, 1.0), 0.7 * BASE))
    )
    row, = (row for row in summary["criteria"] if row["id"] == "motor_voltage")
    assert row["level"] == "not assessed" and "host_drive" in row["reason"]


def graded(**grades):
    return {path.replace("__", "."): {"value": 1.0, "grade": grade} for path, grade in grades.items()}


def test_grade_is_the_worst_on_the_path():
    used = graded(booster__motor__rated_kw="B", shore__short_circuit_mva="C")
    assert find_grade(make_case(used=used)) == "C"
    assert find_grade(make_case(used=used | graded(booster__shaft__inertia_kgm2="D"))) == "D"


def test_settings_small_quantities_and_other_islands_do_not_lower_the_grade():
    used = graded(
        booster__motor__rated_kw="B",
        shore__frequency_hz="D",
        feeder_breaker__contact_resistance_uohm="D",
        study__cable_error_pu="D",
        far_grid__short_circuit_mva="D",
    )
    case = make_case(used=used, nodes=[make_node("host"), make_node("motor_bus"), make_node("far", island=1)])
    case.grids.append(SimpleNamespace(name="far_grid", node="far", frequency_hz=50.0))
    assert find_grade(case) == "B"


def test_grades_nested_by_component_read_the_same():
    nested = {
        "booster": {"motor": {"rated_kw": {"value": 2000.0, "grade": "A"}}},
        "shore": {"x_over_r": {"grade": "D"}},
    }
    assert find_grade(make_case(used=nested)) == "D"
    assert find_grade(make_case(used={})) is None
    assert find_grade(make_case(used={"booster.motor.rated_a": {"value": 200.0, "grade": None}})) is None
