"""Files of the standard set: names, wholeness, and no global state of the drawing library."""

import subprocess
import sys

import matplotlib
import pytest
from figure_runs import make_direct_run, make_drive_run
from matplotlib.figure import Figure
from switching_runs import (
    make_arrester_run,
    make_fault_run,
    make_inrush_run,
    make_opening_run,
    make_zeros_run,
)

from plots import draw_overlay, draw_run
from sim.results.run import Event

PNG = b"\x89PNG\r\n\x1a\n"      # ISO/IEC 15948, signature
END = b"IEND\xaeB`\x82"         # and last chunk


def assert_whole(paths):
    for path in paths:
        data = path.read_bytes()
        assert data.startswith(PNG) and data.endswith(END)


def test_standard_set_of_a_run(tmp_path, drive_run):
    shares = []
    paths = draw_run(drive_run, tmp_path / "new" / "figures", shares.append)
    assert [path.name for path in paths] == ["overview.png", "trip_feeder_breaker_feeder_host.png",
                                             "torque_speed_booster.png"]
    assert_whole(paths)
    assert sorted(path.name for path in paths[0].parent.iterdir()) == sorted(path.name for path in paths)
    assert shares == pytest.approx([1 / 3, 2 / 3, 1.0])


def test_closing_with_phase_voltages_gets_a_figure(tmp_path):
    names = [path.name for path in draw_run(make_direct_run(samples=8_000), tmp_path)]
    assert names == ["overview.png", "closing_motor_breaker_host.png", "torque_speed_booster.png"]


@pytest.mark.parametrize("make, own", [
    (make_opening_run, "recovery_feeder_breaker.png"), (make_inrush_run, "inrush_step_down.png"),
    (make_zeros_run, "zeros_feeder_breaker.png"), (make_arrester_run, "arrester_guard.png"),
    (make_fault_run, "fault_dig_in.png")])
def test_what_a_switching_left_gets_a_figure_and_nothing_else_does(tmp_path, make, own):
    kinds = ("recovery", "inrush", "zeros", "arrester", "fault")
    paths = draw_run(make(), tmp_path)
    assert [path.name for path in paths if path.name.startswith(kinds)] == [own]
    assert_whole(paths)


def test_second_opening_of_a_breaker_gets_its_own_file(tmp_path):
    run = make_drive_run()
    run.events.append(Event(27.004, "open", "feeder_breaker", "feeder_breaker opens again"))
    names = [path.name for path in draw_run(run, tmp_path)]
    assert "trip_feeder_breaker_feeder_host_2.png" in names and len(set(names)) == 4


@pytest.mark.parametrize("name, count", [("stalled_run", 3), ("bare_run", 1), ("empty_run", 2)])
def test_incomplete_runs_are_drawn(tmp_path, name, count, request):
    paths = draw_run(request.getfixturevalue(name), tmp_path)
    assert len(paths) == count
    assert_whole(paths)


def test_overlay_files(tmp_path, drive_run, stalled_run, bare_run):
    assert [path.name for path in draw_overlay([drive_run, stalled_run], tmp_path)] == ["overlay_booster.png"]
    assert [path.name for path in draw_overlay([bare_run, bare_run], tmp_path)] == ["overlay_nodes.png"]


def test_broken_write_leaves_the_old_file_and_no_part(tmp_path, bare_run, monkeypatch):
    (tmp_path / "overview.png").write_bytes(b"old")

    def break_off(self, path, **options):
        path.write_bytes(PNG)
        raise OSError("disk full")

    monkeypatch.setattr(Figure, "savefig", break_off)
    with pytest.raises(OSError, match="disk full"):
        draw_run(bare_run, tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["overview.png"]
    assert (tmp_path / "overview.png").read_bytes() == b"old"


def test_names_that_are_no_file_names(tmp_path):
    run = make_direct_run(samples=8_000)
    run.events = [Event(0.2, "open", "../feeder breaker/1", "opens")]
    paths = draw_run(run, tmp_path / "here")
    assert all(path.parent == tmp_path / "here" for path in paths) and len(list(tmp_path.iterdir())) == 1


def test_drawing_leaves_global_settings_alone(tmp_path, bare_run):
    before = dict(matplotlib.rcParams)
    draw_run(bare_run, tmp_path)
    assert dict(matplotlib.rcParams) == before


def test_no_global_drawing_state_is_loaded():
    code = "import sys, plots; print('matplotlib.pyplot' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
