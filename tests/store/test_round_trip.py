"""What is written is what is read: bit for bit, since a float64 is stored as a float64."""

import json
import pickle

import h5py
import numpy as np
import pytest
from factories import CASE_TEXT, NODES, make_case, make_result, make_run, make_stretch

from sim.case import parse_case
from sim.errors import StoreError
from sim.results.run import QUANTITIES, MachineOutcome, Peak, RunResult
from sim.store.read import open_run, open_runs
from sim.store.record import read_events
from sim.store.stored import stored_from_result
from sim.store.write import write_run


@pytest.fixture
def written(tmp_path):
    """A result, its summary and the run read back."""
    result, summary = make_run("umbilical.length_km=7")
    path = tmp_path / "first.h5"
    write_run(path, result, summary)
    return result, summary, open_run(path)


def assert_same_signals(stretch, other):
    assert stretch.engine == other.engine
    np.testing.assert_array_equal(stretch.t, other.t)
    assert set(stretch.signals) == set(other.signals)
    for name, quantities in stretch.signals.items():
        assert set(quantities) == set(other.signals[name])
        for quantity, values in quantities.items():
            np.testing.assert_array_equal(values, other.signals[name][quantity])


def test_stretches_come_back_whole(written):
    result, _, run = written
    assert len(run.stretches) == 3
    for stretch, other in zip(run.stretches, result.stretches):
        assert_same_signals(stretch, other)


def test_record_comes_back_equal(written):
    result, summary, run = written
    for name in ("events", "peaks", "machines", "energy", "steps", "handovers", "warnings", "settings",
                 "timing"):
        assert getattr(run, name) == getattr(result, name), name
    assert run.failure is None and run.complete
    assert run.summary == summary


def test_inputs_come_back_and_make_the_same_case(written):
    result, _, run = written
    assert (run.case_text, run.overrides, run.name) == (CASE_TEXT, ("umbilical.length_km=7",), "quillfen")
    assert run.used == result.case.used
    assert run.case.sha256 == result.case.sha256
    assert run.case.cables[0].length_m == 7000.0


def test_magnitudes_cover_the_run_and_phases_the_waveform(written):
    result, _, run = written
    t, speed = run.signal("booster", "speed")
    np.testing.assert_array_equal(t, np.concatenate([stretch.t for stretch in result.stretches]))
    np.testing.assert_array_equal(speed, 155.0 * t / 2.0)
    t, phase = run.signal("host", "voltage_a")
    np.testing.assert_array_equal(t, result.stretches[1].t)
    np.testing.assert_array_equal(phase, result.stretches[1].signals["host"]["voltage_a"])


@pytest.mark.parametrize("name, quantity", [("booster", "voltage_a"), ("nobody", "speed")])
def test_a_missing_signal_is_a_key_error(written, name, quantity):
    for run in (written[2], stored_from_result(*written[:2])):
        with pytest.raises(KeyError, match=f"{name}.{quantity}"):
            run.signal(name, quantity)


def test_a_run_in_memory_has_the_same_face(written):
    result, summary, stored = written
    memory = stored_from_result(result, summary)
    for name in ("name", "case_text", "overrides", "used", "summary", "events", "peaks", "machines", "energy",
                 "settings", "failure", "complete"):
        assert getattr(memory, name) == getattr(stored, name), name
    assert memory.case is result.case and memory.path is None
    for quantity in ("voltage", "voltage_b"):
        for mine, other in zip(memory.signal("host", quantity), stored.signal("host", quantity)):
            np.testing.assert_array_equal(mine, other)


def test_file_reads_without_this_package(written):
    """Layout as promised to other readers of HDF5: 1-D float64 signals with unit, base and a time axis."""
    result, summary, run = written
    with h5py.File(run.path) as file:
        assert file.attrs["format"] == "stepout-run" and file.attrs["format_version"] == 2
        assert file.attrs["verdict"] == summary["verdict"] and file.attrs["complete"]
        assert file.attrs["case_sha256"] == result.case.sha256
        assert json.loads(file.attrs["settings"]) == result.settings
        assert "numpy" in json.loads(file.attrs["libraries"])
        assert file.attrs["created_utc"].endswith("+00:00")
        assert file["case/given"].asstr()[()] == CASE_TEXT
        assert json.loads(file["summary"].asstr()[()]) == summary
        assert file["time/stretches"]["stop"].tolist() == [101, 4102, 4363]
        for name, group in file["signals"].items():
            for quantity, data in group.items():
                assert data.dtype == np.float64 and data.ndim == 1
                assert data.attrs["unit"] == QUANTITIES[quantity][0]
                axis = data.dims[0]["time"]
                assert axis.is_scale and axis.shape == data.shape
                assert axis.name == ("/time/waveform" if quantity[-2:] in ("_a", "_b", "_c") else "/time/all")
        assert file["signals/host/voltage"].attrs["base"] == 6600.0


def test_a_signal_of_some_stretches_only_keeps_its_own_axis(tmp_path):
    result, summary = make_run()
    extra = np.linspace(0.0, 1.0, len(result.stretches[2].t))
    result.stretches[2].signals["shore"] = {"current": extra}
    write_run(tmp_path / "run.h5", result, summary)
    run = open_run(tmp_path / "run.h5")
    t, y = run.signal("shore", "current")
    np.testing.assert_array_equal(t, result.stretches[2].t)
    np.testing.assert_array_equal(y, extra)
    assert "shore" not in run.stretches[0].signals
    for stretch, other in zip(run.stretches, result.stretches):
        assert_same_signals(stretch, other)


def test_an_axis_names_the_stretches_it_covers(tmp_path):
    result, summary = make_run()
    result.stretches[2].signals["shore"] = {"current": np.zeros(261)}
    write_run(tmp_path / "run.h5", result, summary)
    with h5py.File(tmp_path / "run.h5") as file:
        covered = {name: axis.attrs["stretches"].tolist() for name, axis in file["time"].items()
                   if axis.is_scale}
    assert sorted(covered.values()) == [[0, 1, 2], [1], [2]] and covered["all"] == [0, 1, 2]


def test_waveform_throughout_needs_one_axis(tmp_path):
    result, summary = make_run(stretches=[make_stretch("waveform", 0.0, 0.2, 2001)])
    write_run(tmp_path / "run.h5", result, summary)
    t, _ = open_run(tmp_path / "run.h5").signal("host", "voltage_a")
    np.testing.assert_array_equal(t, result.stretches[0].t)


def test_incomplete_run_says_so(tmp_path):
    result, summary = make_run(failure="booster at t = 0.7 s: the step became too small")
    write_run(tmp_path / "run.h5", result, summary)
    run = open_run(tmp_path / "run.h5")
    assert not run.complete and not run.attrs["complete"]
    assert run.failure == run.attrs["failure"] == result.failure
    assert run.summary["verdict"] == "not assessed"
    np.testing.assert_array_equal(run.signal("booster", "speed")[0][-1:], [0.7])


def test_a_run_that_left_nothing_can_be_stored(tmp_path):
    bare = RunResult(make_case(), failure="nothing was computed")
    write_run(tmp_path / "run.h5", bare, {"verdict": "not assessed"})
    run = open_run(tmp_path / "run.h5")
    assert run.stretches == [] and run.energy is None
    with pytest.raises(KeyError):
        run.signal("booster", "speed")


def test_numbers_that_are_not_finite_survive(tmp_path):
    peaks = {name: Peak(float("inf"), float("nan"), 1.0, float("-inf")) for name in NODES}
    _, summary = make_run()
    machines = {"booster": MachineOutcome(True, False, False, 0.0, 1.5, "trip")}
    result = make_result(peaks=peaks, machines=machines)
    result.stretches[0].signals["booster"]["torque"][3] = np.nan
    write_run(tmp_path / "run.h5", result, summary)
    run = open_run(tmp_path / "run.h5")
    assert repr(run.peaks) == repr(peaks)
    assert run.machines == machines
    assert np.isnan(run.signal("booster", "torque")[1]).sum() == 1


def test_any_text_survives(tmp_path):
    text = CASE_TEXT.replace("Quillfen: direct", "Blåsår Ω 起動: direct")
    result = make_result(make_case('title="tööl"', text=text), warnings=["µ-sized step"])
    write_run(tmp_path / "run.h5", result, make_run()[1])
    run = open_run(tmp_path / "run.h5")
    assert (run.case_text, run.overrides, run.warnings) == (text, ('title="tööl"',), ["µ-sized step"])


def test_a_case_name_in_another_encoding_can_be_stored(tmp_path):
    result = make_result(parse_case(CASE_TEXT, name="ab\udcff"))
    write_run(tmp_path / "run.h5", result, make_run()[1])
    assert open_run(tmp_path / "run.h5").name == "ab\\udcff"


def test_signals_are_read_when_asked_for(written):
    _, _, run = written
    known = run.stretches[0].signals["booster"]["speed"]
    run.path.unlink()
    assert run.stretches[0].signals["booster"]["speed"] is known
    with pytest.raises(StoreError, match="No such file"):
        run.signal("booster", "torque")


def test_a_stored_run_can_go_to_another_process(written):
    _, _, run = written
    other = pickle.loads(pickle.dumps(run))
    np.testing.assert_array_equal(other.signal("booster", "speed")[1], run.signal("booster", "speed")[1])
    assert_same_signals(other.stretches[1], run.stretches[1])


def test_runs_of_one_name_are_told_apart(tmp_path):
    result, summary = make_run()
    paths = [tmp_path / folder / "run.h5" for folder in ("one", "two")] + [tmp_path / "other.h5"]
    for path in paths:
        path.parent.mkdir(exist_ok=True)
        write_run(path, result, summary)
    labels = [run.label for run in open_runs(paths)]
    assert labels == [str(tmp_path / "one" / "run"), str(tmp_path / "two" / "run"), "other"]


def test_same_run_written_twice_differs_by_its_date_only(tmp_path):
    result, summary = make_run()
    for name in ("a", "b"):
        write_run(tmp_path / f"{name}.h5", result, summary)
    first, second = (open_run(tmp_path / f"{name}.h5") for name in ("a", "b"))
    assert {**first.attrs, "created_utc": ""} == {**second.attrs, "created_utc": ""}
    assert first.summary == second.summary


@pytest.mark.parametrize("kind, label, phase", [
    ("pole_open", "feeder pole c opens", "c"), ("reignition", "feeder pole a re-ignites", "a"),
    ("bypass", "feeder pole b is bypassed", "b"), ("pole_open", "dig_in arc on phase b goes out", "b"),
    ("open", "feeder opens", ""), ("fault", "dig_in: phase a to earth", "")])
def test_an_entry_of_the_first_format_tells_its_phase(kind, label, phase):
    entry, = read_events({"marks": [{"t": 0.1, "kind": kind, "target": "feeder", "label": label}]})
    assert (entry["what"], entry["where"], entry["phase"]) == (kind, "feeder", phase)
