"""Limits, margins and levels: arithmetic of the definitions in sim.measures.verdict.criteria."""

from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sim.measures import summarise
from sim.measures.verdict.criteria import CRITERIA, DEFAULTS, RUNNING, judge
from sim.measures.voltages.overvoltage import find_withstand
from sim.results.run import Peak

from ..synthetic import make_case, make_envelope, make_node, make_run

NONE = SimpleNamespace()


@pytest.mark.parametrize("id, value, margin, level", [
    ("motor_voltage", 90.0, 50.0, "pass"),                # half of the 20 % allowed is left
    ("motor_voltage", 81.0, 5.0, "marginal"),
    ("motor_voltage", 79.0, -5.0, "fail"),
    ("bus_voltage", 97.0, 80.0, "pass"),
    ("accelerating_torque", 15.0, 50.0, "pass"),
    ("accelerating_torque", 10.5, 5.0, "marginal"),
    ("accelerating_torque", -2.0, -120.0, "fail"),
    ("temporary_overvoltage", 1.15, 50.0, "pass"),
    ("flux_at_speed", 1.0, 100.0, "pass"),
    ("drive_current", 99.0, 10.0, "pass"),                # exactly the band is no longer marginal
    ("drive_current", 110.0, 0.0, "marginal"),            # on the limit is within it
    ("energy_residual", 0.2, -100.0, "fail"),
])
def test_margin_and_level(id, value, margin, level):
    row = judge(NONE, id, "here", value)
    assert row["margin_pct"] == pytest.approx(margin, rel=1e-9, abs=1e-9)
    assert row["level"] == level


def test_limits_and_band_come_from_the_case():
    criteria = SimpleNamespace(drive_current_max_pct=150.0, marginal_band_pct=40.0)
    row = judge(criteria, "drive_current", "drive", 105.0)
    assert (row["limit"], row["level"]) == (150.0, "marginal")
    assert row["margin_pct"] == pytest.approx(30.0, rel=1e-12)


def test_a_limit_beyond_normal_is_counted_in_parts_of_itself():
    row = judge(SimpleNamespace(flux_max_pu=0.9), "flux_at_speed", "t", 0.81)
    assert row["margin_pct"] == pytest.approx(10.0, rel=1e-9)


@given(value=st.floats(-1e3, 1e3), id=st.sampled_from(sorted(i for i, r in CRITERIA.items() if r.default)))
def test_fail_means_beyond_the_limit(value, id):
    row = judge(NONE, id, "here", value)
    beyond = value > row["limit"] if CRITERIA[id].sense == "max" else value < row["limit"]
    assert (row["level"] == "fail") == beyond
    assert (row["margin_pct"] < 0.0) == beyond


@pytest.mark.parametrize("id, value, margin, level", [
    ("reignition", 0, 100.0, "pass"),                     # none allowed, none found: nothing of the margin is gone
    ("reignition", 2, -200.0, "fail"),
    ("chatter", 0, 100.0, "pass"),
    ("chatter", 6, 25.0, "pass"),
    ("chatter", 8, 0.0, "marginal"),
    ("chatter", 12, -50.0, "fail"),
    ("missing_zeros", 0.25, 75.0, "pass"),
    ("recovery_voltage", 95.0, 5.0, "marginal"),
])
def test_counts_and_cycles(id, value, margin, level):
    row = judge(NONE, id, "here", value)
    assert row["margin_pct"] == pytest.approx(margin, rel=1e-9)
    assert row["level"] == level


def test_a_count_is_held_against_the_case_s_own_limit():
    row = judge(SimpleNamespace(reignitions_max=4.0), "reignition", "b", 1)
    assert (row["limit"], row["margin_pct"], row["level"]) == (4.0, 75.0, "pass")


@pytest.mark.parametrize("id", [row.id for row in CRITERIA.values() if RUNNING in row.phases])
def test_what_is_judged_at_speed_says_that_the_run_never_got_there(id):
    row = judge(SimpleNamespace(), id, "somewhere", None)
    assert (row["level"], row["reason"]) == ("not assessed", "the run never settled at speed")


def test_another_value_that_is_missing_is_just_missing():
    assert judge(SimpleNamespace(), "temporary_overvoltage", "bus", None)["reason"] == "the run left no such value"


@pytest.mark.parametrize("id", ["thermal", "time_to_speed", "flux_starting"])
def test_without_a_limit_nothing_passes(id):
    row = judge(NONE, id, "here", 1.0)
    assert row["level"] == "not assessed" and row["margin_pct"] is None and row["reason"]


def test_a_missing_value_never_passes():
    row = judge(NONE, "bus_voltage", "here", None)
    assert row["level"] == "not assessed" and row["value"] is None


def test_every_key_has_its_default():
    assert DEFAULTS == {
        "motor_voltage_min_pct": 80.0, "bus_voltage_min_pct": 85.0, "accelerating_torque_min_pct": 10.0,
        "breakaway_ratio_min": 1.2, "time_to_speed_max_s": None, "overvoltage_max_pct_of_withstand": 85.0,
        "temporary_overvoltage_max_pu": 1.3, "flux_max_pu": 1.1, "start_flux_max_pu": None,
        "drive_current_max_pct": 110.0, "cable_current_max_pct": 100.0, "energy_residual_max_pct": 0.1,
        "recovery_voltage_max_pct": 100.0, "recovery_rate_max_pct": 100.0, "missing_zero_cycles_max": 1.0,
        "reignitions_max": 0.0, "arrester_energy_max_pct": 100.0, "chatter_max_steps": 8.0,
        "capacitor_voltage_max_pct": 100.0, "marginal_band_pct": 10.0}
    assert all(row.basis for row in CRITERIA.values())


@pytest.mark.parametrize("um_kv, lightning_kv", [
    # lowest standard rated lightning impulse withstand voltages of IEC 60071-1, range I (from memory)
    (7.2, 40.0), (12.0, 60.0), (17.5, 75.0), (24.0, 95.0), (36.0, 145.0), (52.0, 250.0), (72.5, 325.0),
    (30.0, 95.0),      # between two classes the lower one holds
])
def test_withstand_from_the_class(um_kv, lightning_kv):
    assert find_withstand(make_node("n", um=1e3 * um_kv))[0] == pytest.approx(1e3 * lightning_kv, rel=1e-12)


def test_given_withstand_comes_first_and_no_class_is_none():
    assert find_withstand(make_node("n", um=36e3, withstand=170e3))[0] == 170e3
    assert find_withstand(make_node("n"))[0] is None
    assert find_withstand(make_node("n", um=245e3))[0] is None
    assert find_withstand(make_node("n", um=1e3))[0] is None


@pytest.mark.parametrize("earth_kv, between_kv, used", [(60.0, 80.0, 80.0 / 95.0), (90.0, 80.0, 90.0 / 95.0)])
def test_peak_is_the_worse_of_earth_and_phase(earth_kv, between_kv, used):
    case = make_case(machines=[], breakers=[], nodes=[make_node("host", 20e3, um=24e3)])
    run = make_run(case, make_envelope(case, np.linspace(0.0, 1.0, 11), None, 20e3),
                   peaks={"host": Peak(1e3 * earth_kv, 0.1, 1e3 * between_kv, 0.2)})
    row, = (row for row in summarise(run)["criteria"] if row["id"] == "transient_peak")
    assert row["value"] == pytest.approx(100.0 * used, rel=1e-9)
    assert "lowest standard level of class 24 kV" in row["basis"]


def test_bus_criterion_is_for_more_than_600_volts_and_not_for_motor_nodes():
    nodes = [make_node("host"), make_node("motor_bus"), make_node("low_bus", 400.0)]
    case = make_case(nodes=nodes)
    t = np.linspace(0.0, 1.0, 101)
    rows = [row for row in summarise(make_run(case, make_envelope(case, t, np.zeros(101))))["criteria"]
            if row["id"] == "bus_voltage"]
    assert {row["where"]: row["level"] for row in rows} == {"host": "pass", "low_bus": "not assessed"}
