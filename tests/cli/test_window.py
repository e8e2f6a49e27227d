"""`stepout window`: text, JSON, figure, refusals; the study itself has its own tests."""

from pathlib import Path

import pytest

CASES = Path(__file__).parents[2] / "cases"


@pytest.fixture(scope="module")
def quick():
    """What every call needs: Quillfen without trials."""
    return "window", CASES / "quillfen.toml", "--no-confirm"


def test_text_tells_limits_map_and_setting(call, quick):
    done = call(*quick)
    assert done.exit_code == 0 and done.stderr == ""
    for words in ("Limits of host_drive", "What the required torque takes", "Window: 1.04 to 2.07 Hz", "margin to",
                  "--set host_drive.start_hz=", "Not tried in the time domain", "Cautions"):
        assert words in done.stdout
    last = done.stdout.splitlines()[-1]
    assert last.startswith("quillfen: host_drive has a start window at 1.04 to 2.07 Hz, best 1.4 Hz")
    assert max(map(len, done.stdout.splitlines()[:-1])) <= 100


def test_json_is_the_window_in_numbers(call_json, quick):
    code, told = call_json(*quick)
    assert code == 0
    drive = told["drives"]["host_drive"]
    (low, high), = drive["window_hz"]
    assert low < drive["recommended"]["start_hz"] < high
    assert drive["limits"]["drive_current_pct"] == pytest.approx(110.0)
    assert drive["limits"]["drive_current_basis"] == "host_drive.current_limit_pct"
    rows = drive["at_required_torque"]
    inside = [row["start_hz"] for row in rows if row["within_limits"]]
    assert inside == [row["start_hz"] for row in rows if low <= row["start_hz"] <= high]
    assert min(drive["recommended"]["margins_pct"].values()) > 0.0 and drive["trials"] == []


def test_no_window_tells_what_would_open_one(call, quick):
    done = call(*quick[:1], CASES / "tessarook.toml", "--no-confirm")
    assert done.exit_code == 0 and "No window.  Nearest:" in done.stdout
    assert "a bigger drive: 12" in done.stdout and "--set host_drive.current_limit_pct=12" in done.stdout
    assert "has no start window" in done.stdout.splitlines()[-1]


def test_figure_is_drawn(call, quick, tmp_path):
    done = call(*quick, "--plots", tmp_path / "figures")
    assert done.exit_code == 0 and [path.name for path in (tmp_path / "figures").iterdir()] == [
        "window_host_drive.png"]
    assert "drawn: " in done.stderr


def test_a_case_without_a_drive_is_refused(call, call_json):
    done = call("window", CASES / "morrowgate.toml")
    assert done.exit_code == 2 and "no drive feeds a machine" in done.stderr and done.stdout == ""
    code, told = call_json("window", CASES / "morrowgate.toml")
    assert code == 2 and "no drive" in told["error"]["mistakes"][0]


def test_a_file_in_the_way_of_the_figures_is_told_before_anything_is_computed(call, quick, tmp_path):
    (tmp_path / "taken").write_text("")
    done = call(*quick, "--plots", tmp_path / "taken")
    assert done.exit_code != 0 and "taken" in done.stderr
