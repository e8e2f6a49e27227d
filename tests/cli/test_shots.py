"""`stepout run --shots`: closings after the ordinary run, kept when interrupted, not repeated."""

import numpy as np
import pytest
from studies.closing_cases import FEEDER, write_text

import sim.studies.closings.shots as shots
from sim.errors import SolveError
from sim.store.read import open_run

COUNT = 4


@pytest.fixture
def case_file(tmp_path):
    path = tmp_path / "feeder.toml"
    path.write_text(write_text(FEEDER + '[[node]]\nname = "head"\num_kv = 12.0\n', shots="observe_ms = 1.0"))
    return path


@pytest.fixture
def shot(monkeypatch):
    """Numbers of the closings that were done."""
    numbers, shoot = [], shots.Situation.shoot

    def note(self, closing):
        numbers.append(closing.number)
        return shoot(self, closing)

    monkeypatch.setattr(shots.Situation, "shoot", note)
    return numbers


def stop_at(monkeypatch, number, error):
    shoot = shots.Situation.shoot

    def stop(self, closing):
        if closing.number == number:
            raise error
        return shoot(self, closing)

    monkeypatch.setattr(shots.Situation, "shoot", stop)


def test_statistics_are_in_the_json(call_json, case_file, shot):
    code, summary = call_json("run", case_file, "--shots", COUNT, "--workers", 1)
    statistics = summary["statistics"]
    assert code == 0 and shot == [0, 1, 2, 3]
    assert (statistics["shots"], statistics["seed"], statistics["breaker"]) == (COUNT, 1, "gear")
    assert set(statistics["nodes"]) == {"bus", "head", "tail", "load_bus"}
    head = statistics["nodes"]["head"]
    assert head["mean_pu"] <= head["ue2_pu"] <= head["max_pu"] and head["ue2_high_pu"] is None
    row, = (row for row in summary["criteria"] if (row["id"], row["where"]) == ("statistical_peak", "head"))
    assert row["level"] == "not assessed" and "ask for 149 or more" in row["reason"]


def test_report_has_a_table_and_the_worst_closing(call, case_file):
    done = call("run", case_file, "--shots", COUNT)
    lines = done.stdout.splitlines()
    heading = next(k for k, line in enumerate(lines) if line.startswith("4 closings of gear at random"))
    assert any(line.split()[:1] == ["tail"] for line in lines[heading:heading + 8])
    assert any(line.strip().startswith("largest of all at ") and "poles a, b, c at" in line for line in lines[heading:])
    assert max(map(len, lines[:-1])) <= 100


def test_without_the_option_nothing_is_closed_at_random(call_json, case_file, shot):
    assert call_json("run", case_file)[1]["statistics"] is None and shot == []


def test_a_stored_series_goes_on(call, case_file, shot, tmp_path):
    out = tmp_path / "run.h5"
    call("run", case_file, "--shots", 2, "--out", out)
    done = call("run", case_file, "--shots", COUNT, "--out", out)
    assert done.exit_code == 0 and shot == [0, 1, 2, 3] and "holds 2 of these closings" in done.stderr
    assert open_run(out).closings.numbers.tolist() == [0, 1, 2, 3]
    call("run", case_file, "--shots", COUNT, "--out", out, "--set", "shots.seed=2")
    assert shot[4:] == [0, 1, 2, 3] and open_run(out).closings.seed == 2


@pytest.mark.parametrize("error, code", [(KeyboardInterrupt(), 130), (SolveError("closing 2, head", 0.1, "x"), 1)])
def test_what_is_done_is_kept(call, case_file, monkeypatch, tmp_path, error, code):
    stop_at(monkeypatch, 2, error)
    out = tmp_path / "run.h5"
    done = call("run", case_file, "--shots", COUNT, "--out", out)
    assert done.exit_code == code and "2 of 4 closings were done" in done.stderr
    run = open_run(out)
    assert run.complete and run.closings.numbers.tolist() == [0, 1] and run.closings.count == COUNT
    assert np.isfinite(run.closings.phase_earth).all() and run.summary["statistics"]["shots"] == 2
    assert "2 closings of gear at random" in done.stdout


def test_an_interrupted_series_is_still_one_json_object(call_json, case_file, monkeypatch):
    stop_at(monkeypatch, 1, KeyboardInterrupt())
    code, summary = call_json("run", case_file, "--shots", COUNT)
    assert code == 130 and summary["statistics"]["shots"] == 1 and summary["statistics"]["asked"] == COUNT


@pytest.mark.parametrize("change, words", [
    (('[shots]\nbreaker = "gear"\nobserve_ms = 1.0', ""), "shots: missing"),
    (("closed = false", "closed = true"), "gear: is closed at the start")])
def test_a_case_without_closings_is_refused_before_it_is_run(call, case_file, monkeypatch, change, words):
    case_file.write_text(case_file.read_text().replace(*change))
    monkeypatch.setattr("sim.studies.run.simulate", lambda *arguments, **settings: pytest.fail("was run"))
    done = call("run", case_file, "--shots", COUNT)
    assert done.exit_code == 2 and words in done.stderr


@pytest.mark.parametrize("arguments", [("--shots", 0), ("--shots", -3), ("--shots", COUNT, "--workers", 0)])
def test_counts_below_one_are_refused(call, case_file, arguments):
    assert call("run", case_file, *arguments).exit_code == 2


def test_figure_is_drawn(call, case_file, tmp_path):
    done = call("run", case_file, "--shots", COUNT, "--plots", tmp_path / "figures")
    assert done.exit_code == 0 and (tmp_path / "figures" / "statistics.png").stat().st_size > 10_000
