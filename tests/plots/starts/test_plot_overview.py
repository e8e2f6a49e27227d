"""The overview: units, lines, limits, events, peaks, and words for what is not there."""

import copy

import numpy as np
import pytest
from figure_reading import find_line, find_overlaps, read_words
from figure_runs import RATED_TORQUE, make_direct_run

from plots.page.decimation import COLUMNS, KEPT_PER_COLUMN
from plots.page.page import palette
from plots.starts.overview import draw_overview

RUNS = ("drive_run", "direct_run", "stalled_run", "group_run", "bare_run", "empty_run")


@pytest.fixture(scope="module")
def figure(drive_run):
    return draw_overview(drive_run)


def test_every_axis_has_a_unit(figure):
    names = [axes.get_ylabel() for axes in figure.axes]
    assert names == ["Voltage [% of nominal]", "Current [% of rating]", "Speed, frequency [%]",
                     "Torque [% of rated]"]
    assert figure.axes[-1].get_xlabel() == "Time [s]"


def test_one_named_line_for_each_signal_and_limit(figure):
    named = [[line.get_label() for line in axes.lines if not line.get_label().startswith("_")]
             for axes in figure.axes]
    assert [len(names) for names in named] == [4 + 2, 2 + 1, 2, 2]     # signals + limits
    assert "motor_bus (6.6 kV)" in named[0] and "load torque" in named[3]


@pytest.mark.parametrize("start, level", [("host_drive limit", 110.0), ("bus limit", 85.0),
                                          ("one-cycle limit", 130.0)])
def test_limits_are_drawn_at_their_level(figure, start, level):
    line = next(line for axes in figure.axes for line in axes.lines if line.get_label().startswith(start))
    # limits are given in per cent: only their rounding to double stands between
    np.testing.assert_allclose(np.unique(line.get_ydata()[np.isfinite(line.get_ydata())]), level, rtol=1e-12)
    assert line.get_color() == palette.LIMIT


def test_sag_limit_holds_near_rated_frequency_only(figure, drive_run):
    line = find_line(figure.axes[0], "bus limit")
    t, y = line.get_data()
    frequency = np.interp(t, *drive_run.signal("host_drive", "frequency"))
    assert (np.isfinite(y) == (frequency >= 45.0 - 1e-9)).all()


def test_events_are_marked_with_their_times(figure):
    words = read_words(figure)
    for label in ("host_drive starts, 0 s", "booster breaks away, 0.4 s", "feeder_breaker opens, 27 s"):
        assert label in words
    assert "pole" not in words
    for axes in figure.axes:
        marked = {line.get_xdata()[0] for line in axes.lines if line.get_label() == "_mark"}
        assert marked == {0.0, 0.4, 27.0}


def test_values_are_per_cent_of_the_rating(figure, drive_run):
    t, y = find_line(figure.axes[3], "load torque").get_data()
    # the load is 100 % at the rated point; the one-cycle mean of a constant is that constant
    np.testing.assert_allclose(np.interp(26.0, t, y), 100.0, rtol=1e-9)
    t, y = find_line(figure.axes[2], "booster").get_data()
    np.testing.assert_allclose(np.interp(26.0, t, y), 99.0, rtol=1e-9)


def test_time_to_speed_is_written(figure):
    assert "95 % of rated speed 23.6 s after first voltage" in read_words(figure)


def test_crests_survive_and_points_stay_few():
    run = make_direct_run(samples=150_000)
    figure = draw_overview(run)
    torque = run.signal("booster", "torque")[1] * 100.0 / RATED_TORQUE
    drawn = find_line(figure.axes[3], "_ripple of motor torque").get_ydata()
    assert np.nanmax(drawn) == torque.max() and np.nanmin(drawn) == torque.min()
    points = [len(line.get_xdata()) for axes in figure.axes for line in axes.lines]
    assert max(points) <= KEPT_PER_COLUMN * COLUMNS


def test_ripple_beyond_the_scale_is_named(direct_run):
    figure = draw_overview(direct_run)
    torque = direct_run.signal("booster", "torque")[1] * 100.0 / RATED_TORQUE
    assert figure.axes[3].get_ylim()[1] < torque.max()
    assert f"to {torque.max():.0f} %" in read_words(figure)


def test_motor_voltage_limit_of_a_direct_start(direct_run):
    line = find_line(draw_overview(direct_run).axes[0], "motor limit 80 %")
    assert set(line.get_ydata()) == {80.0}


def test_breakaway_of_a_stalled_machine(stalled_run):
    line = find_line(draw_overview(stalled_run).axes[3], "booster breakaway 30 %")
    np.testing.assert_allclose(line.get_ydata(), 30.0, rtol=1e-12)


def test_load_at_standstill_is_not_drawn(stalled_run, drive_run):
    """What a brake or friction holds at standstill is what it is asked to hold, not a load torque."""
    names = [line.get_label() for line in draw_overview(stalled_run).axes[3].lines]
    assert "load torque" not in names and "motor torque" in names
    t, y = find_line(draw_overview(drive_run).axes[3], "load torque").get_data()
    assert np.isnan(y[t < 0.35]).all() and np.isfinite(y[(t > 1.0) & (t < 26.0)]).all()


def test_rounding_takes_no_room():
    run = make_direct_run(samples=5_000)
    run.stretches[0].signals["booster"]["speed"] -= 1e-4
    run.stretches[0].t[0] = 2e-5
    axes = draw_overview(run).axes[2]
    assert axes.get_ylim()[0] == 0.0 and axes.get_xlim()[0] == 0.0


def test_trip_is_shown_in_the_colour_of_limits(stalled_run):
    axes = draw_overview(stalled_run).axes[0]
    assert palette.LIMIT in {line.get_color() for line in axes.lines if line.get_label() == "_mark"}


def test_time_not_computed_is_said(group_run):
    words = read_words(draw_overview(group_run))
    assert "not computed:\nended at 30 s" in words
    assert "grey: 6 more nodes" in words


def test_a_last_step_that_was_not_stored_is_not_missing(group_run):
    """A whole run whose last sample lies less than one sampling before its end."""
    run, last = copy.deepcopy(group_run), group_run.stretches[-1].t
    run.case.study.duration_s = last[-1] + 0.9 * (last[-1] - last[-2])
    assert not any("not computed" in words for words in read_words(draw_overview(run)))


def test_without_anything_that_turns_two_panels_are_left(bare_run):
    figure = draw_overview(bare_run)
    assert [axes.get_ylabel() for axes in figure.axes] == ["Voltage [% of nominal]", "Current [A RMS]"]
    assert figure.axes[-1].get_xlabel() == "Time [s]"


def test_panels_without_data_say_so(drive_run):
    run = copy.deepcopy(drive_run)
    for stretch in run.stretches:
        for machine in run.case.machines:
            stretch.signals[machine.name].clear()
        for drive in run.case.drives:
            stretch.signals[drive.name].clear()
    words = read_words(draw_overview(run))
    assert "holds no speeds" in words and "none with a torque" in words


def test_run_without_samples_says_so(empty_run):
    assert "nothing to draw" in read_words(draw_overview(empty_run))


def test_shading_marks_waveform_stretches_only(drive_run, direct_run):
    spans = [len(draw_overview(run).axes[0].patches) for run in (drive_run, direct_run)]
    assert spans == [1, 0]


def test_overlaps_would_be_seen(bare_run):
    figure = draw_overview(bare_run)
    title = figure.texts[0]
    figure.text(*title.get_position(), "on the title", va="top")
    figure.text(1.0, 0.5, "off the page")
    assert find_overlaps(figure) == ["off the page", (title.get_text(), "on the title")]


@pytest.mark.parametrize("name", RUNS)
def test_no_text_overlaps(name, request):
    assert find_overlaps(draw_overview(request.getfixturevalue(name))) == []


def test_names_are_never_read_as_formulae():
    run = make_direct_run(samples=5_000, title="$x^2$ and 100 %")
    assert "$x^2$" in read_words(draw_overview(run))
