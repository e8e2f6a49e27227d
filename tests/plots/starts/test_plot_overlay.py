"""Several runs on one time axis."""

import numpy as np
import pytest
from figure_reading import find_overlaps, read_words
from figure_runs import make_bare_run, make_direct_run, make_drive_case, make_node

from plots.page.page import text_width
from plots.starts.overlay import draw_machine_overlay, draw_node_overlay, shorten


@pytest.fixture(scope="module")
def runs(direct_run):
    return [direct_run, make_direct_run("morrowgate_larger_transformer", 0.82, 60_000)]


@pytest.fixture(scope="module")
def figure(runs):
    return draw_machine_overlay(runs, "booster")


def test_axes_have_units(figure):
    assert [axes.get_ylabel() for axes in figure.axes] == [
        "Voltage [% of nominal]", "Current [% of rated]", "Speed [% of synchronous]", "Torque [% of rated]"]
    assert figure.axes[-1].get_xlabel() == "Time [s]"


def test_each_run_has_a_line_of_its_own_look_in_every_panel(figure, runs):
    for axes in figure.axes:
        lines = [line for line in axes.lines if line.get_label() in [run.label for run in runs]]
        assert [line.get_label() for line in lines] == [run.label for run in runs]
        assert lines[0].get_color() != lines[1].get_color()
        assert lines[0].get_linestyle() != lines[1].get_linestyle()


def test_voltage_is_that_of_the_machines_node(figure, runs):
    t, y = next(line for line in figure.axes[0].lines if line.get_label() == "morrowgate").get_data()
    volts = np.interp(1.0, *runs[0].signal("motor_bus", "voltage"))
    # a second in, the ripple has died out and the sag is flat: only curvature over one cycle is left
    np.testing.assert_allclose(np.interp(1.0, t, y), 100.0 * volts / 6600.0, rtol=1e-3)


def test_verdicts_and_shared_events_are_written_once(figure):
    words = read_words(figure)
    assert "morrowgate: marginal\nmorrowgate_larger_transformer: marginal" in words
    assert words.count("motor_breaker closes") == 1


def test_events_of_one_run_carry_its_name(drive_run, stalled_run):
    words = read_words(draw_machine_overlay([drive_run, stalled_run], "booster"))
    assert "quillfen_no_boost: host_drive trips" in words and "quillfen: feeder_breaker opens" in words


def test_run_without_the_machine_is_named(drive_run, bare_run):
    assert "no machine booster in: bare" in read_words(draw_machine_overlay([drive_run, bare_run], "booster"))


def test_nodes_of_runs_without_machines(bare_run):
    figure = draw_node_overlay([bare_run, make_bare_run("other")])
    assert [axes.get_ylabel() for axes in figure.axes] == [
        "host [% of nominal]", "feeder_end [% of nominal]", "motor_bus [% of nominal]"]


def test_runs_with_nothing_in_common_say_so(bare_run, empty_run):
    empty_run = type(empty_run)(make_drive_case(nodes=[make_node("elsewhere", 1e3)], machines=[]), [])
    assert "share no machine and no node" in read_words(draw_node_overlay([bare_run, empty_run]))


def test_run_without_samples_is_left_out(drive_run, empty_run):
    figure = draw_machine_overlay([drive_run, empty_run], "booster")
    assert [line.get_label() for line in figure.axes[2].lines if not line.get_label().startswith("_")] == [
        "quillfen"]


def test_long_labels_are_shortened():
    short = shorten("a_run_name_that_never_seems_to_come_to_an_end_at_all")
    assert text_width(short) <= 1.9 and short.startswith("a_run") and short.endswith("all") and "…" in short


def test_no_text_overlaps(figure, drive_run, stalled_run, group_run, bare_run):
    assert find_overlaps(figure) == []
    assert find_overlaps(draw_machine_overlay([drive_run, stalled_run, group_run], "booster")) == []
    assert find_overlaps(draw_node_overlay([bare_run, make_bare_run("other")])) == []
