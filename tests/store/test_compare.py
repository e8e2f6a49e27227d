"""Differences between runs: exact in the inputs, by a tolerance in the results, biggest first."""

import copy

import pytest
from factories import CASE_TEXT, make_case, make_result, make_run

from sim.measures import summarise
from sim.store.compare import compare_runs, find_relative
from sim.store.stored import stored_from_result
from sim.store.write import write_run


def make_stored(*overrides, change=None, **changes):
    result, summary = make_run(*overrides, **changes)
    summary = copy.deepcopy(summary)
    if change is not None:
        change(summary)
    return stored_from_result(result, summary)


def test_a_run_does_not_differ_from_itself(tmp_path):
    write_run(tmp_path / "a.h5", *make_run())
    found = compare_runs([tmp_path / "a.h5", make_stored()])
    assert (found["inputs"], found["results"], found["criteria"]) == ([], [], [])
    assert [run["label"] for run in found["runs"]] == ["a", "quillfen"]


def test_inputs_are_told_in_units_of_the_case_file():
    changed = make_stored("umbilical.length_km=7", "booster.load.breakaway_pct=20")
    found = compare_runs([make_stored(), changed])
    rows = {row["key"]: row for row in found["inputs"]}
    assert set(rows) == {"umbilical.length_km", "booster.load.breakaway_pct"}
    assert rows["umbilical.length_km"]["values"] == [5, 7] and rows["umbilical.length_km"]["unit"] == "km"
    assert rows["booster.load.breakaway_pct"]["origins"] == ["default", "given"]


def test_a_component_that_one_run_lacks_is_absent_there():
    more = CASE_TEXT + '\n[[shunt]]\nname = "reactor"\nnode = "motor_bus"\ninductance_mh = 500\n'
    other = make_result(make_case(text=more))
    found = compare_runs([make_stored(), stored_from_result(other, summarise(other))])
    row = next(row for row in found["inputs"] if row["key"] == "reactor.inductance_mh")
    assert row["values"] == [None, 500] and row["origins"] == [None, "given"] and row["unit"] == "mH"
    assert {row["key"] for row in found["inputs"]} >= {"reactor.resistance_ohm", "reactor.node"}


def test_results_beyond_the_tolerance_biggest_first():
    def change(summary):
        summary["nodes"]["host"]["max_urms_pu"] *= 1.0 + 1e-7
        summary["nodes"]["motor_bus"]["max_urms_pu"] *= 1.01
        summary["motors"]["booster"]["peak_current_pu"] *= 2.0
        summary["motors"]["booster"]["outcome"] = "hung"

    found = compare_runs([make_stored(), make_stored(change=change)])
    assert [row["key"] for row in found["results"]] == [
        "motors.booster.outcome", "motors.booster.peak_current_pu", "nodes.motor_bus.max_urms_pu"]
    assert found["results"][0]["relative"] == [0.0, None]
    assert found["results"][1]["relative"] == pytest.approx([0.0, 0.5], rel=1e-12)
    loose = compare_runs([make_stored(), make_stored(change=change)], tolerance=0.1)
    assert len(loose["results"]) == 2


def test_what_poles_left_is_compared_by_breaker():
    def change(summary):
        summary["breakers"]["feeder_breaker"] |= {"recovery_peak_kv": 30.0, "poles": [{"pole": "a"}]}
        summary["faults"] = {"dig_in": {"peak_current_a": 5e3}}

    found = compare_runs([make_stored(), make_stored(change=change)])
    assert [row["key"] for row in found["results"]] == [
        "breakers.feeder_breaker.recovery_peak_kv", "faults.dig_in.peak_current_a"]


def test_every_run_is_held_against_the_first():
    def change(summary):
        summary["nodes"]["host"]["max_urms_pu"] *= 1.5

    found = compare_runs([make_stored(), make_stored(), make_stored(change=change)])
    assert found["results"][0]["relative"] == pytest.approx([0.0, 0.0, 1.0 / 3.0], rel=1e-12)
    assert len(found["results"][0]["values"]) == 3


def test_criteria_that_change_their_level_or_limit():
    found = compare_runs([make_stored(), make_stored("criteria.bus_voltage_min_pct=99")])
    rows = {(row["id"], row["where"]): row for row in found["criteria"]}
    assert set(rows) == {("bus_voltage", "host"), ("bus_voltage", "cable_head")}
    sagging = rows["bus_voltage", "cable_head"]
    assert sagging["levels"] == ["pass", "fail"] and sagging["limits"] == [85.0, 99.0]


def test_a_verdict_of_an_incomplete_run():
    found = compare_runs([make_stored(), make_stored(failure="stopped")])
    assert [run["complete"] for run in found["runs"]] == [True, False]
    assert found["runs"][1]["verdict"] == "not assessed"


def test_one_run_is_no_comparison():
    with pytest.raises(ValueError, match="two runs"):
        compare_runs([make_stored()])


@pytest.mark.parametrize("value, reference, expected", [
    (1.0, 1.0, 0.0), (None, None, 0.0), (0.0, 0.0, 0.0), (2.0, 1.0, 0.5), (-1.0, 1.0, 2.0), (1, 0, 1.0),
    (None, 1.0, float("inf")), ("hung", "stalled", float("inf")), (1e-12, 2e-12, 0.0)])
def test_relative_difference(value, reference, expected):
    assert find_relative(value, reference) == expected
