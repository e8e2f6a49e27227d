"""The verdict table: complete, aligned, within 100 columns, verdict last."""

import copy
import re

import pytest
from factories import make_run

from sim.report.criteria import list_judged, list_unjudged
from sim.report.run import shorten, write_report
from sim.report.tables import WIDTH, align, write_number, write_value


@pytest.fixture
def summary():
    return copy.deepcopy(make_run()[1])


def test_all_is_said_and_the_verdict_last(summary):
    text = write_report("Quillfen: direct start", summary)
    lines = text.splitlines()
    assert lines[0] == "Quillfen: direct start" and lines[-1] == summary["sentence"]
    for part in ("motors", "nodes", "cables"):
        for name in summary[part]:
            assert any(line.split()[:1] == [name] for line in lines), name
    for row in summary["criteria"]:
        assert row["id"].replace("_", " ") in text
    assert "a synthetic run" in text and "data grade" in lines[1]
    assert max(map(len, lines[:-1])) <= WIDTH


def test_judged_rows_carry_value_limit_margin_and_basis(summary):
    lines = list_judged(summary["criteria"])
    worst = re.split(r"\s{2,}", lines[2].strip())
    assert worst == ["fail", "cable current", "umbilical", "266.7", "max 100", "-167 %", "[1]"]
    assert any(line.strip().startswith("[1] cable current at speed") for line in lines)
    levels = [line.split()[0] for line in lines if line.split()[0] in ("fail", "marginal", "pass")]
    assert levels == sorted(levels)
    assert "ampacity by IEC 60287" in " ".join(" ".join(lines).split())


def test_what_was_not_assessed_says_why(summary):
    texts = list_unjudged(summary["criteria"])
    assert "thermal (booster): no thermal model of the motor in this version" in texts
    assert any(text.startswith("transient peak (host, cable_head, motor_bus)") for text in texts)


def test_values_that_were_not_computed_are_dashes(summary):
    summary["nodes"]["host"] = dict.fromkeys(summary["nodes"]["host"])
    line = next(line for line in write_report("", summary).splitlines() if line.split()[:1] == ["host"])
    assert line.split()[1:] == ["-"] * 10


def test_a_trip_is_explained(summary):
    summary["motors"]["booster"] |= {"outcome": "tripped", "trip_reason": "drive at its current limit"}
    assert "booster tripped: drive at its current limit" in write_report("", summary)


def test_nothing_is_said_of_breakers_that_stood_by(summary):
    text = write_report("", summary)
    assert "\nBreakers" not in text and "\nArresters" not in text and "\nFaults" not in text


def test_breakers_arresters_and_faults_have_tables(summary):
    summary["breakers"] = {
        "feeder_breaker": {"recovery_peak_kv": 61.74, "recovery_peak_pu": 2.1004, "recovery_rate_kv_per_us": 0.5664,
                           "missing_zero_cycles": 0.25, "reignitions": 3, "chopped_a": 4.0, "poles": []},
        "spare": {"recovery_peak_kv": None, "recovery_peak_pu": None, "recovery_rate_kv_per_us": None,
                  "missing_zero_cycles": None, "reignitions": None, "chopped_a": None, "poles": []}}
    summary["arresters"] = {"guard": {"energy_kj": 12.34, "energy_pct": None, "peak_current_a": 812.3,
                                      "peak_voltage_kv": 71.2}}
    summary["faults"] = {"dig_in": {"peak_current_a": 12345.6, "rms_current_a": 4567.8}}
    rows = {line.split()[0]: line.split()[1:] for line in write_report("", summary).splitlines() if line.strip()}
    assert rows["feeder_breaker"] == ["61.7", "2.10", "0.57", "0.25", "3", "4.0"]
    assert rows["guard"] == ["12.3", "-", "812", "71.2"] and rows["dig_in"] == ["1.235e+04", "4568"]
    assert "spare" not in rows and max(map(len, write_report("", summary).splitlines()[:-1])) <= WIDTH


def test_voltage_after_the_supply_had_opened_is_told(summary):
    summary["nodes"]["motor_bus"]["max_urms_after_opening_pu"] = 1.4567
    summary["nodes"]["host"]["max_urms_after_opening_pu"] = 0.8
    summary["nodes"]["cable_head"] |= {"max_urms_pu": 1.2, "max_urms_after_opening_pu": 1.02}      # dying out
    text = write_report("", summary)
    assert "motor_bus reached 1.457 pu after its supply had opened" in text
    assert "host reached" not in text and "cable_head reached" not in text


def test_chatter_is_told_where_it_is_known(summary):
    assert "alternating steps" not in write_report("", summary)
    summary["quality"]["chatter_steps"] = 3
    assert "at most 3 alternating steps" in " ".join(write_report("", summary).split())


def test_a_run_that_left_nothing(summary):
    summary |= {"motors": {}, "nodes": {}, "cables": {}, "criteria": [], "data_grade": None,
                "sentence": "not assessed: it left\nno samples"}
    assert write_report("title", summary).splitlines()[-1] == "not assessed: it left no samples"


def test_cautions_are_brief():
    long = "First, at some length and with many words, so that it does not fit. " * 2
    assert shorten("Short. Two sentences.") == "Short. Two sentences."
    assert shorten(long) == "First, at some length and with many words, so that it does not fit."


def test_a_long_name_stands_on_its_own_line():
    lines = align([["", "a"]], [["x" * 30, "1"], ["short", "22"]])
    assert lines == ["          a", "  " + "x" * 30, "          1", "  short  22"]


@pytest.mark.parametrize("value, form, text", [
    (None, ".3f", "-"), (0.98765, ".3f", "0.988"), (1.0, ".3f", "1.000"), (1234567.0, ".3f", "1.23e+06"),
    (0.0, ".3g", "0"), (12, "d", "12")])
def test_numbers(value, form, text):
    assert write_number(value, form) == text


@pytest.mark.parametrize("value, text", [(True, "true"), (None, "-"), ("abc", "abc"), (0.246, "0.246"),
                                         ([0.0, 50.0], "[0, 50]"), (2300, "2300")])
def test_values(value, text):
    assert write_value(value) == text
