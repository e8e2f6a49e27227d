"""Inrush of a transformer: chosen where one comes under voltage, knee and crests where they are."""

import numpy as np
import pytest
from figure_reading import find_line, find_overlaps, read_words
from switching_runs import ORDER, make_inrush_run, make_opening_run

from plots.switching.inrush import draw_inrush, list_inrushes
from sim.results.run import Event


def draw(run):
    inrush, = list_inrushes(run)
    return draw_inrush(run, inrush)


@pytest.fixture(scope="module")
def run():
    return make_inrush_run()


@pytest.fixture(scope="module")
def figure(run):
    return draw(run)


def test_axes_have_units(figure):
    assert [axes.get_ylabel() for axes in figure.axes] == ["Limb flux [pu of rated crest]", "Current [A]",
                                                           "2nd harmonic [%]"]
    assert figure.axes[2].get_xlabel() == "Time after 0.1 s [ms]"


def test_knee_is_drawn_on_both_sides(figure):
    levels = sorted(line.get_ydata()[0] for line in figure.axes[0].lines if "knee" in line.get_label())
    assert levels == [-1.15, 1.15]


def test_crests_are_those_of_the_signals(figure, run):
    signals = run.stretches[0].signals["step_down"]
    flux = max(np.abs(signals[f"flux_from_{limb}"]).max() for limb in "abc")
    amps = max(np.abs(signals[f"current_from_{phase}"]).max() for phase in "abc")
    words = read_words(figure)
    assert f"{flux:.2f} pu" in words and f"{amps:.0f} A into the transformer" in words
    assert np.abs(find_line(figure.axes[0], "limb a").get_ydata()).max() == pytest.approx(flux, rel=1e-12)


def test_second_harmonic_is_drawn_from_the_first_whole_cycle_on(figure):
    t, share = find_line(figure.axes[2], "phase a").get_data()
    assert t[0] == pytest.approx(20.0, abs=0.2)
    # unipolar pulses shorter than half a cycle have more than a half-wave rectified sine, 42.4 %
    assert np.nanmin(share) > 42.4 and np.nanmax(share) < 100.0


def test_without_currents_of_its_own_those_of_the_breaker_are_shown():
    figure = draw(make_inrush_run(own_currents=False))
    assert "A in feeder_breaker" in read_words(figure)


def test_only_what_was_dead_and_came_alive_counts(run):
    alive = make_inrush_run()
    alive.stretches[0].signals["motor_bus"]["voltage"][:] = 6600.0
    assert list_inrushes(alive) == []
    dead = make_inrush_run()
    for node in ("feeder", "motor_bus"):
        dead.stretches[0].signals[node]["voltage"][:] = 0.0
    assert list_inrushes(dead) == []
    bare = make_inrush_run()
    bare.stretches[0].signals["step_down"] = {"flux_from": np.zeros(len(bare.stretches[0].t))}
    assert list_inrushes(bare) == []
    assert list_inrushes(make_opening_run()) == []


def test_another_event_ends_the_figure():
    run = make_inrush_run()
    run.events.append(Event(0.2, "fault", "dig_in", "dig_in: phase a to earth"))
    assert draw(run).axes[0].get_xlim()[1] == pytest.approx(100.0, abs=1e-6)


def test_poles_that_close_apart_are_flagged():
    run = make_inrush_run()
    run.events = [run.events[0], *(Event(ORDER + delay, "pole_close", "feeder_breaker",
                                         f"feeder_breaker pole {p} closes", phase=p)
                                 for p, delay in (("a", 0.0), ("b", 0.0012), ("c", 0.0031)))]
    words = read_words(draw(run))
    assert "pole b closes, 1.20 ms" in words and "pole c closes, 3.10 ms" in words
    assert draw(run).axes[0].get_xlim() == draw(make_inrush_run()).axes[0].get_xlim()       # they do not end it
    assert "pole b closes" not in read_words(draw(make_inrush_run()))


@pytest.mark.parametrize("given", [{}, {"own_currents": False}])
def test_no_text_overlaps(given):
    assert find_overlaps(draw(make_inrush_run(**given))) == []
