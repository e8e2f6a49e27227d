"""Close-ups of switching: insulation levels, poles, peaks."""

from types import SimpleNamespace

import numpy as np
import pytest
from figure_reading import find_line, find_overlaps, read_words
from figure_runs import make_direct_run, make_drive_run

from plots.switching.closeup import describe, draw_closeup, list_levels
from plots.switching.moments import find_closeup, find_window
from sim.results.run import Event, Peak


def find_event(run, kind):
    return next(event for event in run.events if event.what == kind)


def draw(run, kind="open"):
    event = find_event(run, kind)
    return draw_closeup(run, event, find_closeup(run, event))


@pytest.fixture(scope="module")
def figure(drive_run):
    return draw(drive_run)


def test_axes_have_units(figure):
    assert [axes.get_ylabel() for axes in figure.axes] == ["Voltage to earth [kV]", "Pole current [A]"]
    assert figure.axes[1].get_xlabel() == "Time after 27 s [ms]"


def test_three_phases_in_each_panel(figure):
    for axes in figure.axes:
        assert len([line for line in axes.lines if line.get_label().startswith("phase ")]) == 3


def test_highest_voltage_for_equipment_is_drawn_on_both_sides(figure):
    # IEC 60071-1 gives the highest voltage as a line-to-line RMS value: its crest to earth is sqrt(2/3) of it
    crest = np.sqrt(2.0 / 3.0) * 36.0
    levels = [line.get_ydata()[0] for line in figure.axes[0].lines
              if "highest voltage 36 kV" in line.get_label()]
    np.testing.assert_allclose(sorted(levels), [-crest, crest], rtol=1e-12)


def test_withstand_far_beyond_the_peak_is_named(figure):
    # IEC 60071-1: 145 kV is the lowest standard lightning impulse withstand voltage of the 36 kV class
    assert "85 % of 145 kV withstand: 123.2 kV" in read_words(figure)


def test_withstand_near_the_peak_is_drawn():
    run = make_drive_run()
    run.case.nodes[1].lightning_withstand_v = 60e3
    line = find_line(draw(run).axes[0], "85 % of 60 kV")
    np.testing.assert_allclose(line.get_ydata(), 51.0, rtol=1e-12)


def test_own_limit_of_the_criteria_counts():
    run = make_drive_run()
    run.summary["criteria"].append({"id": "transient_peak", "where": "feeder_end", "limit": 70.0,
                                    "level": "pass"})
    levels, _ = list_levels(run, run.case.nodes[2])
    np.testing.assert_allclose(levels[-1][0], 0.7 * 170e3, rtol=1e-12)


def test_missing_insulation_level_is_said():
    run = make_drive_run()
    for node in run.case.nodes:
        node.um_v = node.lightning_withstand_v = None
    assert "no insulation level given" in read_words(draw(run))


def test_poles_are_marked_where_their_current_ends(figure, drive_run):
    poles = [event for event in drive_run.events if event.what == "pole_open"]
    drawn = {line.get_xdata()[0] for line in figure.axes[1].lines if line.get_label() == "_mark"}
    assert drawn == {0.0, *(1e3 * (pole.t - 27.0) for pole in poles)}
    for pole in poles:
        t, y = find_line(figure.axes[1], f"phase {pole.label.split()[2]}").get_data()
        assert (y[t > 1e3 * (pole.t - 27.0)] == 0.0).all() and np.abs(y).max() > 800.0


def test_node_with_the_highest_peak_is_chosen_and_labelled(figure, drive_run):
    closeup = find_closeup(drive_run, find_event(drive_run, "open"))
    highest = max(drive_run.peaks[node.name].phase_earth / node.nominal_v for node in drive_run.case.nodes)
    assert abs(closeup.peak[1]) / closeup.node.nominal_v == highest
    assert f"{closeup.peak[1] / 1e3:.3g} kV" in read_words(figure)


def test_drawn_crest_is_the_sampled_one(figure, drive_run):
    closeup = find_closeup(drive_run, find_event(drive_run, "open"))
    highest = max(line.get_ydata().max() for line in figure.axes[0].lines
                  if line.get_label().startswith("phase"))
    assert highest == 1e-3 * closeup.peak[1]


def test_peak_between_stored_samples_replaces_the_sampled_one():
    run = make_drive_run()
    event = find_event(run, "open")
    at, value, phase = find_closeup(run, event).peak
    node = find_closeup(run, event).node.name
    run.peaks[node] = Peak(abs(value) + 100.0, at + 1e-5, 0.0, at)
    assert find_closeup(run, event).peak == (at + 1e-5, np.sign(value) * (abs(value) + 100.0), phase)


def test_window_holds_the_peak_and_every_pole(drive_run):
    closeup = find_closeup(drive_run, find_event(drive_run, "open"))
    start, end = find_window(drive_run, closeup)
    inside = [closeup.peak[0], *(event.t for event in drive_run.events if event.what == "pole_open")]
    assert start < 27.0 and all(start < moment < end for moment in inside)


def test_closing_marks_its_highest_current(direct_run):
    words = read_words(draw(direct_run, "close"))
    highest = max(np.abs(direct_run.signal("motor_breaker", f"current_{phase}")[1][:6000]).max()
                  for phase in "abc")
    assert f"{highest:.0f} A" in words


def test_target_without_pole_currents_is_said():
    run = make_direct_run(samples=20_000)
    del run.stretches[0].signals["motor_breaker"]
    assert "no pole currents of motor_breaker" in read_words(draw(run, "close"))


def test_switching_without_waveform_is_said(stalled_run):
    event = find_event(stalled_run, "trip")
    assert find_closeup(stalled_run, event) is None
    assert "not assessed" in read_words(draw_closeup(stalled_run, event, None))


def test_dead_network_is_said():
    run = make_drive_run()
    for signals in run.stretches[1].signals.values():
        for quantity in [name for name in signals if name.startswith("voltage")]:
            signals[quantity] = 1e-6 * signals[quantity]
    run.peaks = {}
    event = find_event(run, "open")
    assert find_closeup(run, event) is None
    assert "The network was dead" in read_words(draw_closeup(run, event, None))


def test_trip_just_before_its_stretch_has_a_closeup():
    run = make_drive_run()
    event = Event(run.stretches[1].t[0] - 2e-5, "trip", "host_drive", "host_drive trips")
    closeup = find_closeup(run, event)
    start, end = find_window(run, closeup)
    assert start == event.t < end
    assert "\ntrip\n" in read_words(draw_closeup(run, event, closeup))


def test_switching_that_raises_no_voltage_shows_the_nodes_of_the_switch():
    run = make_direct_run(samples=20_000)
    for node in run.case.nodes:
        for phase in "abc":
            crest = 0.9 if node.name == "motor_bus" else 1.0
            wave = np.sqrt(2.0 / 3.0) * node.nominal_v * crest * np.cos(314.0 * run.stretches[0].t)
            run.stretches[0].signals[node.name][f"voltage_{phase}"] = wave
    run.peaks, run.case.breakers[0].from_node = {}, "motor_bus"
    assert find_closeup(run, find_event(run, "close")).node.name == "motor_bus"


def test_source_at_standstill_gives_a_finite_window(drive_run):
    event = Event(27.0, "open", "feeder_breaker", "")
    closeup = find_closeup(drive_run, event)
    stretch = closeup.stretch
    dead = SimpleNamespace(t=stretch.t, frequency=np.zeros(len(stretch.t)))
    start, end = find_window(drive_run, SimpleNamespace(event=event, node=closeup.node, stretch=dead,
                                                        peak=closeup.peak))
    assert 0.0 < end - start < 0.3


@pytest.mark.parametrize("name, kind", [("drive_run", "open"), ("direct_run", "close"),
                                        ("stalled_run", "trip")])
def test_no_text_overlaps(name, kind, request):
    assert find_overlaps(draw(request.getfixturevalue(name), kind)) == []


def test_a_peak_known_from_below_says_so():
    """The subtitle tells what the run's band left out of the peak."""
    node = SimpleNamespace(name="bus", nominal_v=6600.0)
    closeup = SimpleNamespace(event=SimpleNamespace(t=0.3), node=node, peak=(0.301, -7000.0, "b"))
    for needed, words in ((0.0, "(6.6 kV): 7 kV"), (9e4, "(6.6 kV): at least 7 kV")):
        run = SimpleNamespace(peaks={"bus": Peak(7000.0, 0.301, 9000.0, 0.301, needed)})
        assert words in describe(run, closeup)
