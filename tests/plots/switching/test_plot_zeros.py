"""Missing current zeros: the stretch without one, its length by the closed form, zeros counted."""

import numpy as np
import pytest
from figure_reading import find_line, find_overlaps, read_words
from switching_runs import ORDER, make_opening_run, make_zeros_run

from plots.switching.zeros import draw_zeros, find_missing


def draw(run):
    breaker, = run.case.breakers
    return draw_zeros(run, breaker, find_missing(run, breaker))


@pytest.fixture(scope="module")
def figure():
    return draw(make_zeros_run())


def test_axes_have_units(figure):
    assert [axes.get_ylabel() for axes in figure.axes] == ["Pole a [A]", "Pole b [A]", "Pole c [A]"]
    assert figure.axes[2].get_xlabel() == "Time [s]"


def test_length_is_that_of_the_closed_form(figure):
    """No zero while k exp(-t/T) > 1 - k, T = 300 / w: 0.81 s for 70 % of reactors; the next trough ends it."""
    run = make_zeros_run()
    gap = find_missing(run, run.case.breakers[0])
    exact = 300.0 / (2.0 * np.pi * 50.0) * np.log(0.7 / 0.3)
    assert gap.pole == "a" and gap.start == pytest.approx(ORDER, abs=1e-4)
    assert exact - 0.02 <= gap.end - gap.start <= exact + 0.02
    shaded = figure.axes[0].patches[0]
    assert shaded.get_x() == pytest.approx(gap.start) and shaded.get_width() == pytest.approx(gap.end - gap.start)
    assert f"{gap.cycles + 0.5:.1f} cycles" in read_words(figure)


def test_zeros_are_marked_on_the_axis_and_counted(figure):
    for axes, pole in zip(figure.axes, "abc"):
        events = find_line(axes, "_zeros")
        assert (events.get_ydata() == 0.0).all()
        assert find_line(axes, f"pole {pole}:").get_label().endswith(f"{len(events.get_xdata())} zeros")
        t, i = find_line(axes, f"pole {pole}:").get_data()
        # straight between samples 50 us apart of a current that changes by 1 A a sample at its zeros, floor 1 A
        assert np.abs(np.interp(events.get_xdata(), t, i)).max() < 3.0


def test_a_breaker_with_its_zeros_has_no_figure():
    run = make_zeros_run(share=0.2, end=0.3)
    run.summary["breakers"]["feeder_breaker"]["missing_zero_cycles"] = 0.2
    assert find_missing(run, run.case.breakers[0]) is None
    waited = make_opening_run()
    waited.summary["breakers"]["feeder_breaker"]["missing_zero_cycles"] = 3.0
    assert find_missing(waited, waited.case.breakers[0]) is None


def test_a_very_long_stretch_is_cut(figure):
    run = make_zeros_run(share=0.95, end=3.0)
    low, high = draw(run).axes[0].get_xlim()
    assert high - low == pytest.approx(61.0 / 50.0, rel=1e-3)


@pytest.mark.parametrize("share", [0.6, 0.7, 0.95])
def test_no_text_overlaps(share):
    assert find_overlaps(draw(make_zeros_run(share=share))) == []
