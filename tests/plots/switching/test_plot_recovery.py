"""Recovery voltage of a breaker: the envelope where it should be, every recovery from its own origin."""

import numpy as np
import pytest
from figure_reading import find_line, find_overlaps, read_words
from switching_runs import ORDER, ZEROS, make_opening_run

from plots.switching.recovery import draw_recovery, list_openings


def draw(run):
    opening, = list_openings(run, run.case.breakers[0])
    return draw_recovery(run, opening)


@pytest.fixture(scope="module")
def run():
    return make_opening_run()


@pytest.fixture(scope="module")
def figure(run):
    return draw(run)


def test_axes_have_units(figure):
    assert [axes.get_ylabel() for axes in figure.axes] == [
        "Pole current [A]", "Voltage across pole [kV]", "Voltage across pole [kV]"]
    assert figure.axes[1].get_xlabel() == "Time after 0.1 s [ms]"
    assert figure.axes[2].get_xlabel() == "Time after each pole's interruption [us]"


def test_envelope_is_drawn_for_both_signs(figure):
    """12 kV, class S1: 20.6 kV in 61 us (IEC 62271-100, from memory, to be checked)."""
    rises = [line for line in figure.axes[2].lines if "envelope" in line.get_label()]
    peaks = sorted(line.get_ydata()[-1] for line in rises)
    np.testing.assert_allclose(peaks, [-20.58, 20.58], rtol=1e-3)
    for line in rises:
        np.testing.assert_allclose(line.get_xdata()[:2], [0.0, 61.0], rtol=1e-9)
        assert line.get_ydata()[0] == 0.0
    levels = sorted(line.get_ydata()[0] for line in figure.axes[1].lines
                    if "standard peak" in line.get_label() or line.get_label() == "_envelope below")
    np.testing.assert_allclose(levels, peaks, rtol=1e-12)


def test_delay_line_runs_beside_the_rise(figure):
    """From 0.15 of the rise time, with the slope of the rise, to a third of the peak."""
    t, u = next(line.get_data() for line in figure.axes[2].lines
                if line.get_label() == "_delay" and line.get_ydata()[-1] > 0.0)
    np.testing.assert_allclose([t[0], u[0], u[1]], [0.15 * 61.0, 0.0, 20.58 / 3.0], atol=1e-2)
    np.testing.assert_allclose((u[1] - u[0]) / (t[1] - t[0]), 20.58 / 61.0, rtol=1e-3)


def test_every_recovery_starts_at_its_own_interruption(figure, run):
    for pole, at in ZEROS.items():
        t, u = find_line(figure.axes[2], f"pole {pole}").get_data()
        assert t[0] == u[0] == 0.0
        stretch = run.stretches[0]
        first = np.searchsorted(stretch.t, at, side="right")
        np.testing.assert_allclose(u[1], 1e-3 * stretch.signals["host"][f"voltage_{pole}"][first], rtol=1e-12)
        t, _ = find_line(figure.axes[1], f"pole {pole}").get_data()
        assert t[0] == pytest.approx(1e3 * (at - ORDER), abs=1e-9)


def test_crest_of_every_pole_is_named(figure, run):
    words = read_words(figure)
    for pole in "abc":
        highest = np.abs(run.stretches[0].signals["host"][f"voltage_{pole}"]).max()
        assert f"{highest / 1e3:.3g} kV" in words


def test_touching_line_has_the_steepest_slope(figure, run):
    t, u = find_line(figure.axes[2], "_touching").get_data()
    t_all, u_all = find_line(figure.axes[2], "pole a").get_data()
    late = t_all >= 0.15 * 61.0
    assert u[1] / t[1] == pytest.approx((u_all[late] / t_all[late]).max(), rel=1e-9)
    assert f"{u[1] / t[1]:.3g} kV/us" in read_words(figure)


def test_poles_are_flagged(figure):
    words = read_words(figure)
    assert "order to open" in words and "pole a opens, 3.40 ms" in words


def test_an_envelope_beyond_the_scale_is_named():
    figure = draw(make_opening_run(rated=36e3))
    assert "beyond this scale: standard peak at 36 kV: 61.7 kV" in read_words(figure)
    assert not [line for line in figure.axes[1].lines if "standard peak" in line.get_label()]


def test_without_a_class_there_is_no_rise():
    figure = draw(make_opening_run(rated=123e3))
    assert len(figure.axes) == 2 and "not held against the standard" in read_words(figure)


def test_reignitions_are_flagged_while_they_are_few():
    run = make_opening_run(reignitions=3)
    assert read_words(draw(run)).count("pole a re-ignites") == 3
    assert [trace.pole for trace in list_openings(run, run.case.breakers[0])[0].traces] == ["a"] * 4 + ["b", "c"]
    words = read_words(draw(make_opening_run(reignitions=9)))
    assert "re-ignites" not in words and words.count("pole a opens") == 1


def test_a_late_crest_of_another_pole_does_not_stretch_the_figure():
    run = make_opening_run()
    stretch = run.stretches[0]
    stretch.signals["host"]["voltage_c"] = stretch.signals["host"]["voltage_c"] + np.where(stretch.t > 0.19, 8e3, 0.0)
    assert draw(run).axes[0].get_xlim() == draw(make_opening_run()).axes[0].get_xlim()


def test_nothing_to_say():
    run = make_opening_run()
    run.summary["breakers"] = {}
    assert list_openings(run, run.case.breakers[0]) == []
    dead = make_opening_run()
    for pole in "abc":
        dead.stretches[0].signals["host"][f"voltage_{pole}"][:] = 0.0
    assert list_openings(dead, dead.case.breakers[0]) == []


@pytest.mark.parametrize("given", [{}, {"rated": 36e3}, {"rated": 123e3}, {"natural": 2e3}, {"reignitions": 2}])
def test_no_text_overlaps(given):
    assert find_overlaps(draw(make_opening_run(**given))) == []
