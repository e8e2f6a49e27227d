"""The rerun with finer steps: what it runs and what it compares."""

import pytest
from factories import CASE_TEXT, make_run

from sim.case import parse_case
from sim.engines.waveform.engine import choose_steps
from sim.network.build import build_network
from sim.studies.run import run
from sim.studies.verify import compare_quantities, find_change, refine, verify_step

EARLY = CASE_TEXT.replace("at_s = 0.5", "at_s = 0.05")
QUICK = ("study.duration_s=0.12", "study.bandwidth_khz=5", "study.waveform_step_us=4", "study.tolerance_pu=1e-4")
BY_HAND = ("study.duration_s=0.12", "study.bandwidth_khz=10", "study.waveform_step_us=2", "study.tolerance_pu=6.25e-6")


def make_quick(*overrides):
    return parse_case(EARLY, overrides, "quillfen")


def find(rows, id, where):
    return next(row for row in rows if (row["id"], row["where"]) == (id, where))


@pytest.fixture(scope="module")
def verified():
    case = make_quick(*QUICK)
    summary = run(case)[1]
    shares = []
    return case, summary, verify_step(case, None, summary, shares.append), shares


def test_refined_values_are_those_of_a_run_made_by_hand(verified):
    """Half of 4 us and a sixteenth of 1e-4, given as a person would with `--set`."""
    _, summary, found, _ = verified
    by_hand = run(make_quick(*BY_HAND))[1]
    assert found["waveform_step_s"] == pytest.approx(2e-6, rel=1e-12)
    assert found["tolerance_pu"] == pytest.approx(6.25e-6, rel=1e-12)
    for name in ("host", "cable_head", "motor_bus"):
        row = find(found["rows"], "peak_phase_earth", name)
        assert row["value"] == summary["nodes"][name]["peak_phase_earth_kv"] and row["unit"] == "kV"
        assert row["refined"] == by_hand["nodes"][name]["peak_phase_earth_kv"]
        row = find(found["rows"], "peak_phase_phase", name)
        assert row["refined"] == by_hand["nodes"][name]["peak_phase_phase_pu"] and row["unit"] == "pu"
    judged = [row for row in by_hand["criteria"] if row["value"] is not None
              and row["id"] not in ("energy_residual", "chatter")]
    assert len(judged) > 5
    for row in judged:
        assert find(found["rows"], row["id"], row["where"])["refined"] == row["value"], row


def test_steps_do_matter_and_the_worst_is_the_largest(verified):
    _, _, found, _ = verified
    changes = [abs(row["change_pct"]) for row in found["rows"]]
    assert found["worst_change_pct"] == max(changes) > 0.0


def test_progress_is_that_of_the_second_run(verified):
    shares = verified[3]
    assert shares and shares == sorted(shares) and 0.5 < shares[-1] <= 1.0


def test_only_the_steps_differ(verified):
    case, *_ = verified
    finer = refine(case)
    assert finer.study.band_factor == 2.0 and finer.study.waveform_step_s == 0.5 * case.study.waveform_step_s
    assert finer.study.tolerance_pu == case.study.tolerance_pu / 16.0
    assert case.study.tolerance_pu == 1e-4      # the case itself is as it was
    same = set(vars(case.study)) - {"waveform_step_s", "band_factor", "tolerance_pu"}
    assert all(getattr(finer.study, key) == getattr(case.study, key) for key in same)
    assert all(getattr(finer, key) is getattr(case, key) for key in vars(case) if key != "study")


def test_step_by_default_is_halved_too():
    case = make_quick()
    assert case.study.waveform_step_s is None and refine(case).study.waveform_step_s is None
    steps = [choose_steps(one.study, build_network(one).bands) for one in (case, refine(case))]
    assert steps[1] == pytest.approx([0.5 * step for step in steps[0]], rel=0.1)


def test_finest_settings_can_be_refined():
    """Limits of the case file are no limits here."""
    assert refine(make_quick("study.tolerance_pu=1e-9")).study.tolerance_pu == 6.25e-11


@pytest.mark.parametrize("value, refined, change", [
    (2.0, 2.1, 5.0), (2.0, 1.9, -5.0), (-4.0, -3.0, 25.0), (0.0, 0.0, 0.0), (0.0, 3.0, 100.0), (0.0, -3.0, -100.0),
    (1e-12, 3e-12, 0.0), (None, 1.0, None), (1.0, None, None), (5.0, 0.0, -100.0)])
def test_change_is_counted_from_the_value(value, refined, change):
    assert find_change(value, refined) == (change if change is None else pytest.approx(change, rel=1e-12))


def test_quantity_of_one_run_only_is_shown_without_a_change():
    _, summary = make_run()
    shorter = {**summary, "criteria": [row for row in summary["criteria"] if row["id"] != "cable_current"]}
    for pair, empty in (((summary, shorter), "refined"), ((shorter, summary), "value")):
        row = find(compare_quantities(*pair), "cable_current", "umbilical")
        assert row[empty] is None and row["change_pct"] is None and row["unit"] == "% of ampacity"


def test_numerical_checks_and_absent_values_are_left_out():
    _, summary = make_run()
    assert any(row["id"] == "energy_residual" and row["value"] is not None for row in summary["criteria"])
    rows = compare_quantities(summary, summary)
    assert {row["id"] for row in rows}.isdisjoint({"energy_residual", "chatter", "thermal"})
    assert find(rows, "time_to_speed", "booster")["value"] == summary["motors"]["booster"]["time_to_speed_s"]
    assert all(set(row) == {"id", "where", "quantity", "unit", "value", "refined", "change_pct"} for row in rows)
