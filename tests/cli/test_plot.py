"""`stepout plot` and `stepout compare`; the figures themselves are tested elsewhere."""

import pytest


@pytest.fixture
def drawn(monkeypatch):
    """Calls of the drawing functions, which then draw nothing."""
    calls = []

    def note(kind):
        def draw(runs, directory):
            calls.append((kind, runs, directory))
            return [directory / f"{kind}.png"]
        return draw

    monkeypatch.setattr("plots.draw_run", note("run"), raising=False)
    monkeypatch.setattr("plots.draw_overlay", note("overlay"), raising=False)
    return calls


def test_one_run_has_its_own_figures(call, run_file, drawn, tmp_path):
    done = call("plot", run_file("first.h5"))
    kind, run, directory = drawn[0]
    assert done.exit_code == 0 and directory == tmp_path / "first_figures"
    assert (kind, run.label) == ("run", "first")
    assert done.stdout.splitlines() == [str(tmp_path / "first_figures" / "run.png")]


def test_several_runs_are_overlaid(call, run_file, drawn, tmp_path):
    done = call("plot", run_file("a.h5"), run_file("b.h5"), "--out", tmp_path / "figures")
    kind, runs, directory = drawn[0]
    assert done.exit_code == 0 and kind == "overlay" and directory == tmp_path / "figures"
    assert [run.label for run in runs] == ["a", "b"]


def test_an_incomplete_run_is_drawn_and_flagged(call, run_file, drawn):
    done = call("plot", run_file("a.h5", failure="the step became too small"))
    assert done.exit_code == 0 and len(drawn) == 1
    assert "a is an incomplete run: the step became too small" in done.stderr


@pytest.mark.parametrize("command", ["plot", "compare"])
def test_files_that_are_no_runs(call, case_file, run_file, drawn, command):
    good = run_file("good.h5")
    assert call(command, case_file, good).exit_code == 1
    assert call(command, case_file.with_name("absent.h5"), good).exit_code == 2
    assert call(command, case_file.parent, good).exit_code == 2
    assert call(command).exit_code == 2
    assert drawn == []


def test_compare_tells_inputs_criteria_and_results(call, run_file):
    changed = run_file("b.h5", "umbilical.length_km=7", "criteria.bus_voltage_min_pct=99")
    done = call("compare", run_file("a.h5"), changed)
    assert done.exit_code == 0
    lines = [line.split() for line in done.stdout.splitlines()]
    assert ["umbilical.length_km", "5", "7", "km"] in lines
    assert any(line[:2] == ["bus_voltage", "cable_head"] and "fail" in line for line in lines)
    assert lines[-1][:2] == ["same", "verdict"]


def test_compare_the_same_run(call, run_file):
    done = call("compare", run_file("a.h5"), run_file("b.h5"))
    last = done.stdout.splitlines()[-1]
    assert last == "same verdict (marginal); 0 inputs, 0 results and 0 criteria differ"


def test_compare_in_json(call_json, run_file):
    changed = run_file("b.h5", "umbilical.length_km=7")
    code, told = call_json("compare", run_file("a.h5"), changed, run_file("c.h5"))
    assert code == 0 and [run["label"] for run in told["runs"]] == ["a", "b", "c"]
    assert told["inputs"] == [{"key": "umbilical.length_km", "unit": "km", "values": [5, 7, 5],
                               "origins": ["given"] * 3}]


def test_compare_with_an_incomplete_run(call, run_file):
    done = call("compare", run_file("a.h5"), run_file("b.h5", failure="stopped"))
    assert done.exit_code == 0 and "b (incomplete)" in done.stdout and "warning: b" in done.stderr
    assert done.stdout.splitlines()[-1].startswith("verdicts differ: a marginal, b not assessed")


def test_compare_draws_overlays(call, run_file, drawn, tmp_path):
    done = call("compare", run_file("a.h5"), run_file("b.h5"), "--plots", tmp_path / "figures")
    assert done.exit_code == 0 and drawn[0][0] == "overlay" and "overlay.png" in done.stderr


def test_compare_needs_two_runs(call, run_file):
    done = call("compare", run_file("a.h5"))
    assert done.exit_code == 2 and "two runs" in done.stderr
