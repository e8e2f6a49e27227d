"""The Quillfen cases: with boost the pump starts, without it the drive trips; the boost is all that differs."""

from pathlib import Path

import numpy as np
import pytest

from sim.case import load_case
from sim.engines.timeline import simulate
from sim.measures import summarise
from sim.store import compare, write

CASES = Path(__file__).parents[2] / "cases"


@pytest.fixture(scope="module")
def runs():
    results = {name: simulate(load_case(CASES / f"{name}.toml")) for name in ("quillfen", "quillfen_no_boost")}
    return {name: (result, summarise(result)) for name, result in results.items()}


def test_boosted_pump_starts(runs):
    result, summary = runs["quillfen"]
    assert summary["motors"]["booster"]["outcome"] == "accelerated"
    assert summary["verdict"] in ("starts", "marginal")
    assert summary["motors"]["booster"]["final_speed_pct"] == pytest.approx(100.0, abs=1.0)


def test_pump_without_boost_stays(runs):
    result, summary = runs["quillfen_no_boost"]
    assert summary["motors"]["booster"]["outcome"] == "stalled"
    assert summary["verdict"] == "does not start"
    assert not result.machines["booster"].ever_moved
    assert any(mark.kind == "trip" for mark in result.marks)
    assert all(np.all(stretch.signals["booster"]["speed"] == 0.0) for stretch in result.stretches)


def test_boost_is_the_differing_input(runs, tmp_path):
    paths = [tmp_path / f"{name}.h5" for name in runs]
    for path, (result, summary) in zip(paths, runs.values()):
        write.write_run(path, result, summary)
    inputs = compare.compare_runs(paths)["inputs"]
    assert [(row["key"], row["values"]) for row in inputs] == [("host_drive.boost_pct", [1.65, 0.0])]
