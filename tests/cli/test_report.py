"""The verdict table: complete, aligned, within 100 columns, verdict last."""

import copy
import re

import pytest
from factories import make_run

from sim.cli.judged import list_judged, list_unjudged
from sim.cli.report import shorten, write_report
from sim.cli.tables import WIDTH, align, write_number, write_value


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
