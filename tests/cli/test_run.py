"""`stepout run`: what it prints, stores and returns when all goes well and when it does not."""

import json

import pytest
from factories import make_result

from sim.errors import SolveError, StoreError
from sim.store.read import open_run

CONTRACT = {"case", "case_sha256", "stepout_version", "verdict", "motors", "nodes", "transformers", "cables",
            "criteria", "data_grade", "quality", "timing"}


def names(directory):
    return sorted(path.name for path in directory.iterdir())


def last_line(done):
    return done.stdout.splitlines()[-1]


def test_the_last_line_is_the_verdict(call, case_file, engine):
    done = call("run", case_file)
    assert done.exit_code == 0
    assert last_line(done).startswith("marginal: booster reaches 95 % of rated speed in 1.4 s")
    assert done.stderr == ""
    assert names(case_file.parent) == ["quillfen.toml"]


def test_json_is_one_object_with_the_promised_keys(call_json, case_file, engine):
    code, summary = call_json("run", case_file)
    assert code == 0 and CONTRACT <= set(summary)
    assert summary["case"] == "quillfen" and summary["verdict"] == "marginal"
    row = summary["criteria"][0]
    assert set(row) >= {"id", "where", "quantity", "value", "unit", "limit", "margin_pct", "level", "basis"}


def test_numbers_that_are_not_finite_become_null(call_json, case_file, monkeypatch):
    summary = {"verdict": "starts", "criteria": [], "a": float("nan"), "b": [float("inf")]}
    monkeypatch.setattr("sim.studies.run.simulate", lambda case, engine, progress: make_result(case))
    monkeypatch.setattr("sim.studies.run.summarise", lambda result: summary)
    assert call_json("run", case_file)[1] == {"verdict": "starts", "criteria": [], "a": None, "b": [None]}


def test_options_reach_the_engine(call, case_file, engine):
    call("run", case_file, "--engine", "envelope", "--set", "umbilical.length_km=7", "--set",
         "study.duration_s=3")
    case, chosen, progress = engine[0]
    assert chosen == "envelope" and progress is None
    assert case.cables[0].length_m == 7000.0 and case.study.duration_s == 3.0


def test_the_run_is_stored(call, case_file, engine, tmp_path):
    done = call("run", case_file, "--out", tmp_path / "run.h5", "--set", "umbilical.length_km=7")
    run = open_run(tmp_path / "run.h5")
    assert done.exit_code == 0 and run.complete and run.overrides == ("umbilical.length_km=7",)
    assert run.summary["sentence"] == last_line(done)
    assert names(tmp_path) == ["quillfen.toml", "run.h5"]


def test_figures_are_drawn_without_a_run_file(call, case_file, engine, tmp_path, monkeypatch):
    drawn = []

    def draw_run(run, directory):
        drawn.append((run.name, run.signal("booster", "speed")[0].shape, directory.is_dir()))
        return [directory / "overview.png"]

    monkeypatch.setattr("plots.draw_run", draw_run, raising=False)
    done = call("run", case_file, "--plots", tmp_path / "a" / "b")
    assert done.exit_code == 0 and drawn == [("quillfen", (4363,), True)]
    assert "overview.png" in done.stderr and "overview.png" not in done.stdout


@pytest.mark.parametrize("arguments, exit_code", [
    (["--set", "criteria.cable_current_max_pct=300"], 0), ([], 3)])
def test_strict_fails_when_a_criterion_fails(call, case_file, engine, arguments, exit_code):
    """The synthetic run starts; its cable current is 267 % of ampacity."""
    assert call("run", case_file, *arguments).exit_code == 0
    assert call("run", case_file, *arguments, "--strict").exit_code == exit_code


def test_strict_fails_without_a_verdict(call, case_file, monkeypatch):
    monkeypatch.setattr("sim.studies.run.simulate",
                        lambda case, engine, progress: make_result(case, stretches=[]))
    done = call("run", case_file, "--strict")
    assert done.exit_code == 3 and last_line(done).startswith("not assessed")


def test_all_mistakes_of_a_case_are_told_and_nothing_is_touched(call, case_file, engine, tmp_path):
    done = call("run", case_file, "--out", tmp_path / "run.h5", "--plots", tmp_path / "figures",
                "--set", "umbilical.length_km=-7", "--set", "booster.motor.poles=5")
    assert done.exit_code == 2 and done.stdout == "" and engine == []
    assert "umbilical.length_km" in done.stderr and "booster.motor.poles" in done.stderr
    assert names(tmp_path) == ["quillfen.toml"]


def test_a_mistake_is_json_when_json_was_asked_for(call_json, case_file, engine):
    code, told = call_json("run", case_file, "--set", "umbilical.length_km=-7")
    assert code == told["error"]["exit_code"] == 2
    assert len(told["error"]["mistakes"]) == 1 and told["error"]["hint"]


@pytest.mark.parametrize("arguments", [["--engine", "other"], ["--set"], ["--nonsense"], ["second.toml"]])
def test_bad_usage(call, case_file, engine, arguments):
    assert call("run", case_file, *arguments).exit_code == 2


@pytest.mark.parametrize("content", [None, b"", b"[[", b"\xff\xfe", b"study = 3"])
def test_no_such_case(call, tmp_path, content):
    if content is not None:
        (tmp_path / "case.toml").write_bytes(content)
    assert call("run", tmp_path / "case.toml").exit_code == 2


def test_a_directory_is_no_case(call, tmp_path):
    assert call("run", tmp_path).exit_code == 2


@pytest.mark.parametrize("target", [("--out", "absent/run.h5"), ("--out", "."), ("--plots", "quillfen.toml")])
def test_targets_are_checked_before_the_run(call, case_file, engine, tmp_path, target):
    done = call("run", case_file, target[0], tmp_path / target[1])
    assert done.exit_code == 1 and done.stdout == "" and engine == []
    assert names(tmp_path) == ["quillfen.toml"]


def test_a_file_that_is_no_run_is_left_alone(call, case_file, engine):
    before = case_file.read_bytes()
    done = call("run", case_file, "--out", case_file)
    assert done.exit_code == 1 and "left alone" in done.stderr and engine == []
    assert case_file.read_bytes() == before


def test_a_solver_failure_keeps_the_part_computed(call, case_file, break_engine, tmp_path):
    break_engine()
    done = call("run", case_file, "--out", tmp_path / "run.h5")
    assert done.exit_code == 1
    assert "booster at t = 0.7 s: the step became too small; reduce tolerance_pu" in done.stderr
    assert "0.7 s is kept" in done.stderr and "incomplete" in done.stderr
    assert last_line(done).startswith("not assessed: the run did not reach its end")
    run = open_run(tmp_path / "run.h5")
    assert not run.complete and run.signal("booster", "speed")[0][-1] == 0.7


def test_a_solver_failure_in_json(call_json, case_file, break_engine):
    break_engine()
    code, told = call_json("run", case_file)
    assert code == told["error"]["exit_code"] == 1 and told["verdict"] == "not assessed"
    assert told["error"]["message"].startswith("booster at t = 0.7 s")


def test_a_failure_does_not_replace_a_complete_run(call, case_file, break_engine, run_file, tmp_path):
    old = run_file("run.h5").read_bytes()
    break_engine()
    assert call("run", case_file, "--out", tmp_path / "run.h5").exit_code == 1
    assert (tmp_path / "run.h5").read_bytes() == old
    assert not open_run(tmp_path / "run.incomplete.h5").complete


def test_a_failure_replaces_an_incomplete_run(call, case_file, break_engine, run_file, tmp_path):
    run_file("run.h5", failure="an earlier failure")
    break_engine()
    call("run", case_file, "--out", tmp_path / "run.h5")
    assert "step became too small" in open_run(tmp_path / "run.h5").failure
    assert names(tmp_path) == ["quillfen.toml", "run.h5"]


def test_a_failure_before_anything_was_computed(call, case_file, break_engine, tmp_path):
    break_engine(partial=False)
    done = call("run", case_file, "--out", tmp_path / "run.h5")
    assert done.exit_code == 1 and "booster at t = 0.7 s" in done.stderr and done.stdout == ""
    assert names(tmp_path) == ["quillfen.toml"]


def test_a_failure_whose_part_cannot_be_kept(call, case_file, break_engine, tmp_path, monkeypatch):
    def refuse(*arguments):
        raise StoreError("run.h5: cannot be written (No space left on device)")

    break_engine()
    monkeypatch.setattr("sim.store.write.write_run", refuse)
    done = call("run", case_file, "--out", tmp_path / "run.h5")
    assert done.exit_code == 1 and "No space left" in done.stderr and "step became too small" in done.stderr


@pytest.mark.parametrize("as_json", [False, True])
def test_an_interruption_keeps_the_part_computed(call, case_file, break_engine, tmp_path, as_json):
    break_engine(KeyboardInterrupt())
    done = call("run", case_file, "--out", tmp_path / "run.h5", *(["--json"] if as_json else []))
    assert done.exit_code == 130 and "interrupted" in done.stderr
    assert not open_run(tmp_path / "run.h5").complete
    assert names(tmp_path) == ["quillfen.toml", "run.h5"]
    assert (json.loads(done.stdout)["error"]["exit_code"] == 130) if as_json else done.stdout == ""


def test_an_interruption_without_a_run_file_leaves_none(call, case_file, break_engine, tmp_path):
    break_engine(KeyboardInterrupt(), partial=False)
    assert call("run", case_file).exit_code == 130
    assert names(tmp_path) == ["quillfen.toml"]


def test_an_interruption_keeps_a_complete_run(call, case_file, break_engine, run_file):
    old = run_file("run.h5").read_bytes()
    break_engine(KeyboardInterrupt())
    assert call("run", case_file, "--out", case_file.with_name("run.h5")).exit_code == 130
    assert case_file.with_name("run.h5").read_bytes() == old


def test_the_verdict_is_printed_even_if_it_cannot_be_stored(call, case_file, engine, tmp_path, monkeypatch):
    def refuse(*arguments):
        raise StoreError("run.h5: cannot be written (No space left on device)", "Free some space.")

    monkeypatch.setattr("sim.store.write.write_run", refuse)
    done = call("run", case_file, "--out", tmp_path / "run.h5")
    assert done.exit_code == 1 and last_line(done).startswith("marginal")
    assert "No space left" in done.stderr and "Free some space." in done.stderr
    whole = call("run", case_file, "--out", tmp_path / "run.h5", "--json")
    assert whole.exit_code == 1 and json.loads(whole.stdout)["verdict"] == "marginal"


def test_figures_that_cannot_be_written(call, case_file, engine, tmp_path, monkeypatch):
    def refuse(run, directory):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("plots.draw_run", refuse, raising=False)
    done = call("run", case_file, "--plots", tmp_path / "figures", "--out", tmp_path / "run.h5")
    assert done.exit_code == 1 and "No space left" in done.stderr and last_line(done).startswith("marginal")
    assert open_run(tmp_path / "run.h5").complete


def test_progress_is_shown_on_a_terminal_only(call, case_file, monkeypatch):
    seen = []

    def simulate(case, engine=None, progress=None):
        for share in (0.25, 0.2, 1.0, 1.01):
            progress(share)
        seen.append(progress)
        return make_result(case)

    monkeypatch.setattr("sim.studies.run.simulate", simulate)
    monkeypatch.setattr("click.testing._NamedTextIOWrapper.isatty", lambda stream: True, raising=False)
    done = call("run", case_file)
    assert done.exit_code == 0 and len(seen) == 1
    assert "100%" in done.stderr and "%" not in done.stdout.splitlines()[0]


def test_an_error_keeps_what_the_study_knows(break_engine, case_file):
    from sim.case import load_case
    from sim.studies.run import run

    break_engine(partial=False)
    with pytest.raises(SolveError) as caught:
        run(load_case(case_file))
    assert caught.value.partial is None and caught.value.summary is None
