"""`stepout run --verify-step`: a second run with finer steps, told beside the first and stored nowhere."""

import json
from dataclasses import replace

import pytest
from factories import make_result

from sim.errors import SolveError
from sim.report.tables import WIDTH
from sim.report.verified import list_verified
from sim.results.run import Peak
from sim.store.read import open_run

HIGHER = 1.05       # peaks of the second run over those of the first


@pytest.fixture
def engine(monkeypatch):
    """An engine whose second run, that with finer steps, has higher peaks, or stops with an error."""
    calls = []

    def simulate(case, engine=None, progress=None):
        calls.append((case, engine))
        if progress:
            progress(0.5)
        result = make_result(case)
        if len(calls) == 1:
            return result
        if simulate.stop is not None:
            simulate.stop.partial = make_result(case, failure=str(simulate.stop) or "interrupted")
            raise simulate.stop
        return replace(result, peaks={name: scale(peak) for name, peak in result.peaks.items()})

    simulate.stop = None
    simulate.calls = calls
    monkeypatch.setattr("sim.studies.run.simulate", simulate)
    return simulate


def scale(peak):
    return Peak(HIGHER * peak.phase_earth, peak.phase_earth_time, peak.phase_phase, peak.phase_phase_time)


def find(rows, id, where):
    return next(row for row in rows if (row["id"], row["where"]) == (id, where))


def make_row(id="peak_phase_earth", where="host", value=1.0, refined=1.0, change=0.0):
    return {"id": id, "where": where, "quantity": "largest peak", "unit": "kV", "value": value, "refined": refined,
            "change_pct": change}


def show(*rows):
    changes = [abs(row["change_pct"]) for row in rows if row["change_pct"] is not None]
    return list_verified({"waveform_step_s": 2e-6, "bandwidth_hz": 1e5, "tolerance_pu": 6.25e-6, "rows": list(rows),
                          "worst_change_pct": max(changes, default=None)})


def test_second_run_is_told_in_json(call_json, case_file, engine):
    code, summary = call_json("run", case_file, "--verify-step", "--engine", "waveform")
    found = summary["verify_step"]
    assert code == 0 and set(found) == {"waveform_step_s", "bandwidth_hz", "tolerance_pu", "rows",
                                            "worst_change_pct"}
    (first, chosen), (second, again) = engine.calls
    assert chosen == again == "waveform" and first.study.tolerance_pu == 1e-4
    assert second.study.band_factor == 2.0 * first.study.band_factor
    assert found["waveform_step_s"] == pytest.approx(2e-6)          # 50 steps a period of 5 kHz, halved
    assert second.study.tolerance_pu == found["tolerance_pu"] == 6.25e-6
    row = find(found["rows"], "peak_phase_earth", "host")
    assert row["value"] == 5.5 and row["refined"] == pytest.approx(5.775) and row["unit"] == "kV"
    assert row["change_pct"] == pytest.approx(5.0) and found["worst_change_pct"] == pytest.approx(5.0)
    assert find(found["rows"], "time_to_speed", "booster")["change_pct"] == 0.0


def test_case_sets_the_step_that_is_halved(call_json, case_file, engine):
    _, summary = call_json("run", case_file, "--verify-step", "--set", "study.waveform_step_us=1")
    assert summary["verify_step"]["waveform_step_s"] == pytest.approx(0.5e-6)


def test_without_the_option_nothing_runs_twice(call_json, case_file, engine):
    assert "verify_step" not in call_json("run", case_file)[1] and len(engine.calls) == 1


def test_table_stands_before_the_verdict(call, case_file, engine):
    done = call("run", case_file, "--verify-step")
    assert done.exit_code == 0 and done.stdout.splitlines()[-1].startswith("marginal: booster")
    lines = done.stdout.splitlines()
    flagged = [line for line in lines if line.startswith("  changes ")]
    assert len(flagged) == 3 and all("+5.00 %" in line and "peak phase earth" in line for line in flagged)
    text = " ".join(done.stdout.split())
    assert "half the step (2 us) and the tolerance 6.25e-06" in text
    assert "3 quantities change by 2 % or more and cannot be relied on with these steps." in text


def test_run_file_keeps_the_first_run_and_the_table(call, case_file, engine, tmp_path):
    call("run", case_file, "--verify-step", "--out", tmp_path / "run.h5")
    stored = open_run(tmp_path / "run.h5")
    assert stored.complete and stored.settings["waveform_step_s"] == 5e-5
    assert stored.case_text == case_file.read_text() and stored.overrides == ()
    assert stored.summary["nodes"]["host"]["peak_phase_earth_kv"] == 5.5
    assert stored.summary["verify_step"]["worst_change_pct"] == pytest.approx(5.0)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["quillfen.toml", "run.h5"]


@pytest.mark.parametrize("stop, exit_code, told", [
    (KeyboardInterrupt(), 130, "interrupted"), (SolveError("booster", 0.7, "the step is too small"), 1, "too small")])
def test_run_stands_when_the_second_stops(call, case_file, engine, tmp_path, stop, exit_code, told):
    engine.stop = stop
    done = call("run", case_file, "--verify-step", "--out", tmp_path / "run.h5")
    assert done.exit_code == exit_code and told in done.stderr
    assert "The run itself reached its end; the run with finer steps did not." in done.stderr
    assert done.stdout.splitlines()[-1].startswith("marginal: booster") and "Run again" not in done.stdout
    stored = open_run(tmp_path / "run.h5")
    assert stored.complete and "verify_step" not in stored.summary
    assert sorted(path.name for path in tmp_path.iterdir()) == ["quillfen.toml", "run.h5"]


@pytest.mark.parametrize("stop, exit_code", [
    (KeyboardInterrupt(), 130), (SolveError("booster", 0.7, "the step became too small"), 1)])
def test_json_of_a_second_run_that_stops_is_that_of_the_first(call, case_file, engine, stop, exit_code):
    engine.stop = stop
    done = call("run", case_file, "--verify-step", "--json")
    summary = json.loads(done.stdout)
    assert done.exit_code == summary["error"]["exit_code"] == exit_code
    assert summary["verdict"] == "marginal" and "verify_step" not in summary


def test_second_progress_has_its_own_name(call, case_file, engine, monkeypatch):
    monkeypatch.setattr("click.testing._NamedTextIOWrapper.isatty", lambda stream: True, raising=False)
    done = call("run", case_file, "--verify-step")
    assert "simulating" in done.stderr and "verifying" in done.stderr


def test_strict_judges_the_first_run(call, case_file, engine):
    assert call("run", case_file, "--verify-step", "--strict", "--set",
                "criteria.cable_current_max_pct=300").exit_code == 0


def test_first_run_that_stops_has_no_second(call, case_file, break_engine):
    break_engine()
    done = call("run", case_file, "--verify-step")
    assert done.exit_code == 1 and "finer" not in done.stderr


def test_rows_stand_by_the_size_of_their_change():
    lines = show(make_row(where="a", change=0.3), make_row(where="b", change=-1.2), make_row(where="c", change=None))
    places = [line.split("earth")[1].split()[0] for line in lines if "peak phase earth" in line]
    assert places == ["c", "b", "a"]
    assert lines[2].split()[0] == "changes" and max(map(len, lines)) <= WIDTH
    assert "1 quantity changes by 2 % or more" in " ".join(lines)


@pytest.mark.parametrize("change, is_flagged", [(1.99, False), (-1.99, False), (2.0, True), (-2.0, True)])
def test_two_per_cent_is_too_much(change, is_flagged):
    lines = show(make_row(change=change))
    assert lines[2].startswith("  changes") == is_flagged
    assert ("count as credible" in lines[-1]) == (not is_flagged)


def test_run_without_quantities_says_so():
    assert "left no quantity" in show()[-1]
    assert list_verified(None) == []


def test_longest_names_fit_the_page():
    rows = [make_row("temporary_overvoltage", "a" * 24, 123456.7, 123456.7, -123.4)]
    assert max(map(len, show(*rows))) <= WIDTH
