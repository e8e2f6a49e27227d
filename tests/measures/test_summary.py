"""The summary's shape, and that it holds plain values only."""

import json

import numpy as np
import pytest

from sim.measures import summarise
from sim.results.run import Event, Peak, RunResult

from .synthetic import BASE, make_case, make_envelope, make_node, make_run

MOTOR_KEYS = {"outcome", "time_to_speed_s", "final_speed_rpm", "final_speed_pct", "min_voltage_pu",
              "peak_current_pu", "breakaway_torque_available_pct", "min_accelerating_torque_pct",
              "thermal_used_pct"}
NODE_KEYS = {"base_kv", "initial_urms_pu", "min_urms_pu", "sag_depth_pct", "sag_duration_s", "max_urms_pu",
             "max_urms_after_opening_pu", "peak_phase_earth_pu", "peak_phase_earth_kv", "peak_phase_phase_pu",
             "peak_time_s"}
ROW_KEYS = {"id", "where", "quantity", "value", "unit", "limit", "margin_pct", "level", "basis"}


def test_summary_has_every_agreed_name(good_start):
    summary = summarise(good_start)
    assert {
        "case",
        "case_sha256",
        "stepout_version",
        "verdict",
        "sentence",
        "motors",
        "nodes",
        "transformers",
        "cables",
        "breakers",
        "arresters",
        "faults",
        "criteria",
        "events",
        "data_grade",
        "quality",
        "timing",
        "cautions",
    } <= summary.keys()
    assert MOTOR_KEYS <= summary["motors"]["booster"].keys()
    assert all(NODE_KEYS <= node.keys() for node in summary["nodes"].values())
    assert all(ROW_KEYS <= row.keys() for row in summary["criteria"])
    assert {"energy_residual_pct", "steps_envelope", "steps_waveform", "chatter_steps", "handovers", "warnings"} \
        == summary["quality"].keys()
    assert {"compile_s", "solve_s", "total_s"} == summary["timing"].keys()


def test_events_are_the_log_in_order_of_time(good_start):
    good_start.events += [Event(4.007, "pole_open", "feeder_breaker", "pole a opens", "overcurrent", False, "a"),
                          Event(1.0, "load", "booster", "booster load 50 %", value=0.5)]
    assert summarise(good_start)["events"] == [
        {"time_s": 1.0, "what": "load", "where": "booster", "phase": None, "why": "ordered", "ordered": True,
         "value": 0.5, "text": "booster load 50 %"},
        {"time_s": 4.007, "what": "pole_open", "where": "feeder_breaker", "phase": "a", "why": "overcurrent",
         "ordered": False, "value": None, "text": "pole a opens"}]


def test_a_run_without_samples_still_tells_its_events():
    event = Event(0.0, "start", "host_drive", "host_drive starts", value=50.0)
    summary = summarise(RunResult(case=make_case(), events=[event]))
    assert [told["what"] for told in summary["events"]] == ["start"]


def test_summary_is_strict_json(good_start):
    summary = summarise(good_start)
    assert json.loads(json.dumps(summary, allow_nan=False)) == summary


def test_good_start_in_numbers(good_start):
    summary = summarise(good_start)
    motor = summary["motors"]["booster"]
    assert summary["verdict"] == "starts"
    assert motor["outcome"] == "accelerated"
    assert motor["time_to_speed_s"] == pytest.approx(0.95 * 5.0, rel=1e-9)       # straight ramp over 5 s
    assert motor["final_speed_rpm"] == pytest.approx(1500.0 * 0.99, rel=1e-12)   # 4 poles, 50 Hz, 1 % slip
    assert motor["min_voltage_pu"] == pytest.approx(1.0, rel=1e-9)
    assert motor["peak_current_pu"] == pytest.approx(1.0, rel=1e-12)
    assert motor["min_accelerating_torque_pct"] == pytest.approx(40.0, rel=1e-9)
    assert motor["breakaway_torque_available_pct"] == pytest.approx(200.0, rel=1e-9)   # 0.6 over 0.3
    assert motor["thermal_used_pct"] is None
    assert summary["quality"]["energy_residual_pct"] == pytest.approx(100.0 * 0.01 / 110.0, rel=1e-6)


def test_peaks_per_unit_of_the_crest():
    case = make_case(machines=[], nodes=[make_node("host")], breakers=[])
    t = np.linspace(0.0, 1.0, 101)
    crest = np.sqrt(2.0 / 3.0) * BASE
    run = make_run(
        case, make_envelope(case, t, None), peaks={"host": Peak(2.0 * crest, 0.3, 3.0 * BASE, 0.4)}
    )
    node = summarise(run)["nodes"]["host"]
    assert node["peak_phase_earth_pu"] == pytest.approx(2.0, rel=1e-12)
    assert node["peak_phase_earth_kv"] == pytest.approx(2.0 * crest / 1e3, rel=1e-12)
    assert node["peak_phase_phase_pu"] == pytest.approx(3.0 / np.sqrt(2.0), rel=1e-12)
    assert node["peak_time_s"] == 0.3


def test_what_was_not_computed_is_none_not_zero():
    case = make_case(machines=[], nodes=[make_node("host"), make_node("spare")], breakers=[])
    t = np.linspace(0.0, 1.0, 101)
    run = make_run(case, make_envelope(make_case(machines=[], nodes=[make_node("host")]), t, None))
    summary = summarise(run)
    assert all(value is None for name, value in summary["nodes"]["spare"].items() if name != "base_kv")
    assert summary["nodes"]["host"]["peak_phase_earth_pu"] is None
    assert summary["quality"]["energy_residual_pct"] is None
    assert summary["quality"]["steps_waveform"] is None
    assert summary["timing"]["solve_s"] is None


def test_a_run_without_samples_is_not_assessed():
    summary = summarise(RunResult(case=make_case(), failure="step size below its floor at 0.0 s"))
    assert summary["verdict"] == "not assessed"
    assert "step size below its floor" in summary["sentence"]
    assert summary["motors"] == {}
    assert summarise(RunResult(case=make_case()))["verdict"] == "not assessed"
