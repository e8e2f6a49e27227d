"""`stepout scan`: text, JSON, file, figures, refusals; the study itself has its own tests."""

from pathlib import Path

import h5py
import numpy as np
import pytest

CASES = Path(__file__).parents[2] / "cases"
LANTERNFALL = CASES / "lanternfall.toml"


def test_text_lists_resonances_and_crossings(call):
    done = call("scan", LANTERNFALL)
    assert done.exit_code == 0 and done.stderr == ""
    assert "Resonances, positive sequence" in done.stdout and "Harmonics of topside_drive" in done.stdout
    last = done.stdout.splitlines()[-1]
    assert last.startswith("lanternfall: ") and "filter advised for topside_drive" in last
    assert "by order 5 at 43.5 Hz" in last


def test_json_has_the_crossing_of_the_fifth(call_json):
    """60 km of 240 mm2: the desk figure is a resonance near 215 Hz, met by the fifth at 43 Hz."""
    code, told = call_json("scan", LANTERNFALL)
    assert code == 0
    first = told["resonances"]["positive"][0]
    assert first["frequency_hz"] == pytest.approx(215.0, rel=0.02) and 0.0 < first["damping_ratio"] < 0.1
    fifth = next(row for row in told["drives"]["topside_drive"]["crossings"] if row["order"] == 5)
    assert fifth["drive_hz"] == pytest.approx(43.0, rel=0.02) and fifth["exceeds_limit"]
    assert fifth["gain"] > told["gain_limit"] and fifth["node"] in first["gain"]


def test_a_case_without_a_drive_has_no_crossings(call_json):
    code, told = call_json("scan", CASES / "umbrafold.toml")
    assert code == 0 and told["drives"] == {} and told["resonances"]["positive"]


def test_the_verdict_says_that_there_is_no_drive(call):
    assert "no drive, no crossing chart" in call("scan", CASES / "umbrafold.toml").stdout.splitlines()[-1]


def test_orders_beyond_the_band_do_not_pass(call, call_json):
    """Below 150 Hz nothing rings; the resonance at 217 Hz is out of sight, so that nothing can be concluded."""
    narrow = ("scan", LANTERNFALL, "--set", "study.bandwidth_khz=0.15")
    _, told = call_json(*narrow)
    drive = told["drives"]["topside_drive"]
    assert drive["crossings"] == [] and drive["filter_advised"] is None
    assert drive["not_assessed"][0] == {"order": 5, "above_drive_hz": pytest.approx(30.0)}
    assert call(*narrow).stdout.splitlines()[-1].endswith("but beyond 150 Hz not assessed")


def test_what_is_seen_counts_even_if_not_all_is(call_json):
    _, told = call_json("scan", LANTERNFALL, "--set", "study.bandwidth_khz=0.3")
    drive = told["drives"]["topside_drive"]
    assert drive["not_assessed"] and drive["filter_advised"] is True


def test_a_name_that_is_none_lists_those_that_are(call):
    done = call("scan", LANTERNFALL, "--set", "nowhere.length_km=3")
    assert done.exit_code == 2 and "nothing is called nowhere" in done.stderr and "umbilical" in done.stderr


def test_orders_slip_and_level_are_taken(call_json):
    code, told = call_json("scan", LANTERNFALL, "--orders", "11,13", "--slip", "1", "--harmonic-pct", "2")
    drive = told["drives"]["topside_drive"]
    assert code == 0 and drive["orders"] == [11, 13] and set(told["slip_pu"].values()) == {1.0}
    assert told["harmonic_pct"] == 2.0


@pytest.mark.parametrize("orders", ("3", "5,x", "1", "9,15"))
def test_orders_that_are_none_are_refused(call, orders):
    done = call("scan", LANTERNFALL, "--orders", orders)
    assert done.exit_code == 2 and "whole numbers from 2" in done.stderr


def test_file_holds_responses_with_their_frequencies(call, tmp_path):
    path = tmp_path / "scan.h5"
    assert call("scan", LANTERNFALL, "--out", path).exit_code == 0
    with h5py.File(path) as file:
        assert file.attrs["format"] == "stepout-scan"
        gain = file["gain/topside_drive/cable_end"]
        hz = file["frequency/positive"][:]
        assert gain.attrs["unit"] and len(hz) == len(gain)
        assert hz[np.argmax(np.abs(gain[:]))] == pytest.approx(216.6, rel=0.005)
        near = file["impedance/positive/host_bus/host_bus"][:]
        assert near.real.min() > -1e-9 * np.abs(near).max()            # passive


def test_another_file_is_left_alone(call, tmp_path):
    path = tmp_path / "notes.txt"
    path.write_text("mine")
    done = call("scan", LANTERNFALL, "--out", path)
    assert done.exit_code == 1 and path.read_text() == "mine"


def test_figures_are_drawn(call, tmp_path):
    done = call("scan", LANTERNFALL, "--plots", tmp_path)
    names = {path.name for path in tmp_path.iterdir()}
    assert done.exit_code == 0
    assert {"scan_gain_topside_drive.png", "scan_crossings_topside_drive.png", "scan_profile_umbilical.png",
            "scan_impedance_host_bus.png"} <= names
