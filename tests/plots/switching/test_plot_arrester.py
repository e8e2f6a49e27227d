"""Duty of an arrester: voltage, current, and energy as the integral of their product."""

import numpy as np
import pytest
from figure_reading import find_line, find_overlaps, read_words
from scipy.integrate import cumulative_trapezoid
from switching_runs import make_arrester_run

from plots.switching.arrester import draw_arrester, find_conduction, integrate_energy


def draw(run):
    arrester, = run.case.arresters
    return draw_arrester(run, arrester, find_conduction(run, arrester))


@pytest.fixture(scope="module")
def run():
    return make_arrester_run()


@pytest.fixture(scope="module")
def figure(run):
    return draw(run)


def test_axes_have_units(figure):
    assert [axes.get_ylabel() for axes in figure.axes] == ["Voltage to earth [kV]", "Current [A]", "Energy [kJ]"]
    assert figure.axes[2].get_xlabel().startswith("Time after") and figure.axes[2].get_xlabel().endswith("[ms]")


def test_energy_is_the_integral_of_voltage_and_current(run):
    stretch, (arrester,) = run.stretches[0], run.case.arresters
    t, energy = integrate_energy(stretch, arrester, "a", (stretch.t[0], stretch.t[-1]))
    power = stretch.signals["feeder"]["voltage_a"] * stretch.signals["guard"]["current_a"]
    np.testing.assert_allclose(energy, cumulative_trapezoid(power, stretch.t, initial=0.0), rtol=1e-12)
    assert energy[-1] > 1e3 and (np.diff(energy) >= 0.0).all()      # a passive thing only takes


def test_conduction_lies_within_the_window(figure, run):
    t, i = find_line(figure.axes[1], "phase a").get_data()
    k = np.abs(i).argmax()
    assert 0.0 < t[k] < t[-1] and np.abs(i).max() == pytest.approx(run.summary["arresters"]["guard"]["peak_current_a"])


def test_another_conduction_much_later_is_left_out():
    run = make_arrester_run()
    t, guard = run.stretches[0].t, run.stretches[0].signals["guard"]
    guard["current_b"] = guard["current_b"] + np.where((t > 0.28) & (t < 0.281), 200.0, 0.0)
    end = draw(run).axes[2].get_xlim()[1]
    assert end == draw(make_arrester_run()).axes[2].get_xlim()[1] < 100.0


def test_continuous_voltage_is_drawn_as_a_crest(figure):
    line = find_line(figure.axes[0], "continuous voltage")
    np.testing.assert_allclose(line.get_ydata(), 34.0 * np.sqrt(2.0), rtol=1e-12)


def test_sentence_gives_energy_current_and_voltage_of_the_whole_run(figure):
    words = read_words(figure)
    assert "12.3 kJ over the run, 6.2 % of its rating" in words and "highest voltage 66 kV" in words


def test_rating_is_drawn_when_near_and_named_when_far(figure):
    assert "beyond this scale: rating 200 kJ" in read_words(figure)
    near = draw(make_arrester_run(energy=30e3))
    np.testing.assert_allclose(find_line(near.axes[2], "rating 30 kJ").get_ydata(), 30.0, rtol=1e-12)
    assert "no energy rating given" in read_words(draw(make_arrester_run(energy=None)))


def test_an_arrester_that_did_not_conduct_has_no_figure():
    run = make_arrester_run()
    run.summary["arresters"]["guard"]["peak_current_a"] = 0.2
    assert find_conduction(run, run.case.arresters[0]) is None
    gone = make_arrester_run()
    del gone.stretches[0].signals["guard"]
    assert find_conduction(gone, gone.case.arresters[0]) is None


@pytest.mark.parametrize("given", [{}, {"energy": 30e3}, {"energy": None}, {"power": 15}])
def test_no_text_overlaps(given):
    assert find_overlaps(draw(make_arrester_run(**given))) == []
