"""A fault: phases and neutral at its place, its currents, its clearing."""

import numpy as np
import pytest
from figure_reading import find_line, find_overlaps, read_words
from switching_runs import make_fault_run

from plots.switching.fault import draw_fault, list_faults
from sim.results.run import Event, Stretch


def draw(run):
    (found,) = list_faults(run)
    return draw_fault(run, *found)


@pytest.fixture(scope="module")
def run():
    return make_fault_run()


@pytest.fixture(scope="module")
def figure(run):
    return draw(run)


def test_axes_have_units(figure):
    assert [axes.get_ylabel() for axes in figure.axes] == ["Voltage to earth [kV]", "Current into the fault [A]"]
    assert figure.axes[1].get_xlabel() == "Time after 0.1 s [ms]"


def test_sound_phases_and_neutral_of_an_unearthed_network(figure):
    """The neutral takes the phase voltage, the sound phases sqrt(3) times it: 1 and 1.73 pu (sum of the phasors)."""
    crest = np.sqrt(2.0 / 3.0) * 11.0
    t, neutral = find_line(figure.axes[0], "neutral").get_data()
    late = (t > 50.0) & (t < 90.0)
    assert np.abs(neutral[late]).max() == pytest.approx(crest, rel=1e-3)
    for phase in "bc":
        t, u = find_line(figure.axes[0], f"phase {phase}").get_data()
        assert np.abs(u[(t > 50.0) & (t < 90.0)]).max() == pytest.approx(np.sqrt(3.0) * crest, rel=1e-3)


def test_fault_and_clearing_are_flagged(figure):
    words = read_words(figure)
    assert "dig_in: phase a to earth" in words and "dig_in goes out, 97 ms" in words
    assert "highest current 60 A; 42.4 A RMS over its last cycle" in words


def test_highest_voltage_is_named_per_unit(figure, run):
    highest = max(np.abs(run.stretches[0].signals["feeder"][f"voltage_{phase}"]).max() for phase in "abc") / 1e3
    assert f"highest voltage to earth at feeder {highest:.3g} kV ({highest / (np.sqrt(2 / 3) * 11):.2f} pu)" \
        in read_words(figure)


def test_a_fault_that_stays_is_shown_for_some_cycles():
    low, high = draw(make_fault_run(clear=None)).axes[0].get_xlim()
    assert (low, high) == (pytest.approx(-30.0, abs=0.1), pytest.approx(160.0, abs=0.1))


def test_a_breaker_that_opens_is_shown():
    run = make_fault_run(clear=None)
    run.events.append(Event(0.3, "open", "feeder_breaker", "feeder_breaker opens"))
    figure = draw(run)
    assert figure.axes[0].get_xlim()[1] == pytest.approx(280.0, abs=0.1)
    assert "feeder_breaker opens, 200 ms" in read_words(figure)


def test_what_is_missing_is_said():
    assert "no voltages of feeder" in read_words(draw(make_fault_run(voltages=False)))
    run = make_fault_run()
    del run.stretches[0].signals["dig_in"]
    assert "no currents of dig_in" in read_words(draw(run))


def test_a_fault_that_no_waveform_stretch_holds_has_no_figure():
    run = make_fault_run()
    run.stretches = [Stretch("envelope", stretch.t, stretch.signals) for stretch in run.stretches]
    assert list_faults(run) == []


@pytest.mark.parametrize("given", [{}, {"clear": None}, {"voltages": False}])
def test_no_text_overlaps(given):
    assert find_overlaps(draw(make_fault_run(**given))) == []
