"""Closings at random come back bit for bit, and other readers of HDF5 find them as promised."""

import h5py
import numpy as np
import pytest
from factories import NODES, make_run

from sim.errors import StoreError
from sim.measures import summarise
from sim.results.run import ClosingPeaks
from sim.store.compare import compare_runs
from sim.store.read import open_run
from sim.store.stored import stored_from_result
from sim.store.write import write_run

FIELDS = ("numbers", "orders", "delays", "charges", "phase_earth", "phase_phase")


def make_peaks(count=200, done=150, cables=("umbilical",), seed=5):
    random = np.random.default_rng(seed)
    earth = random.uniform(5e3, 9e3, (done, len(NODES)))
    return ClosingPeaks("feeder_breaker", seed, count, tuple(NODES), cables, np.arange(done), random.random(done),
                        random.random((done, 3)), random.random((done, len(cables), 3)), earth, 1.6 * earth)


@pytest.fixture
def write(tmp_path):
    def write(name="run.h5", **settings):
        result, _ = make_run(closings=make_peaks(**settings))
        write_run(tmp_path / name, result, summarise(result))
        return result, open_run(tmp_path / name)
    return write


def assert_same(peaks, other):
    for name in ("breaker", "seed", "count", "nodes", "cables"):
        assert getattr(peaks, name) == getattr(other, name), name
    for name in FIELDS:
        np.testing.assert_array_equal(getattr(peaks, name), getattr(other, name), name)


@pytest.mark.parametrize("settings", [{}, {"cables": ()}, {"done": 0}, {"done": 1, "count": 1}])
def test_closings_come_back(write, settings):
    result, run = write(**settings)
    assert_same(run.closings, result.closings)
    assert_same(stored_from_result(result, run.summary).closings, result.closings)


def test_a_run_without_closings_has_no_group(tmp_path):
    write_run(tmp_path / "run.h5", *make_run())
    assert open_run(tmp_path / "run.h5").closings is None
    with h5py.File(tmp_path / "run.h5") as file:
        assert "shots" not in file


def test_file_reads_without_this_package(write):
    result, run = write()
    with h5py.File(run.path) as file:
        group = file["shots"]
        assert dict(group.attrs) == {"breaker": "feeder_breaker", "seed": 5, "count": 200, "shots": 150}
        assert [group[name].attrs["unit"] for name in ("number", "order", "delay", "charge")] == ["1", "s", "s", "1"]
        assert list(group["charge"].attrs["cables"]) == ["umbilical"]
        for column, node in enumerate(NODES):
            for kind, crest in (("phase_earth", np.sqrt(2.0 / 3.0)), ("phase_phase", np.sqrt(2.0))):
                data = group[f"peaks/{node}/{kind}"]
                assert data.shape == (150,) and data.dtype == np.float64 and data.attrs["unit"] == "V"
                assert data.attrs["base"] == pytest.approx(crest * 6600.0) and "largest" in data.attrs["long_name"]
                np.testing.assert_array_equal(data[()], getattr(result.closings, kind)[:, column])


def test_a_damaged_group_is_told(write):
    _, run = write()
    with h5py.File(run.path, "a") as file:
        del file["shots/peaks/host/phase_earth"]
    with pytest.raises(StoreError, match="truncated or damaged"):
        open_run(run.path)


def test_comparison_tells_statistics_apart(write):
    _, first = write("first.h5")
    _, second = write("second.h5", seed=6)
    keys = {row["key"] for row in compare_runs([first, second])["results"]}
    assert {"statistics.host.ue2_pu", "statistics.host.mean_pu"} <= keys
    assert not any("worst" in key for key in keys)
    assert compare_runs([first, first])["results"] == []
