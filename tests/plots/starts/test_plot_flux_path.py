"""Voltage and flux over a ramp: read back from a ramp of known shape."""

import numpy as np
import pytest
from figure_reading import find_line, find_overlaps, read_words
from figure_runs import SyntheticRun, make_drive_case, make_row, make_summary

from plots.starts.flux_path import draw_flux_path, has_path
from sim.results.run import Stretch


def make_ramp(top=50.0, boost=0.02):
    """2 Hz/s from 2 Hz on with a boost that fades at 10 Hz; the flux is the voltage over the frequency."""
    t = np.linspace(0.0, 30.0, 6001)
    hz = np.minimum(2.0 + 2.0 * t, top)
    volts = hz / 50.0 + boost * np.maximum(1.0 - hz / 10.0, 0.0)
    signals = {"host_drive": {"frequency": hz, "emf": 3300.0 * volts},
               "step_down": {"flux_from": volts * 50.0 / hz, "flux_to": 0.9 * volts * 50.0 / hz}}
    summary = make_summary(criteria=[make_row("flux_starting", "step_down", 1.3, 1.7)])
    return SyntheticRun(make_drive_case(), [Stretch("envelope", t, signals)], summary=summary)


def test_lines_follow_the_ramp():
    run = make_ramp()
    figure = draw_flux_path(run, run.case.drives[0])
    upper, lower = figure.axes
    hz, volts = find_line(upper, "host_drive").get_data()
    late = hz > 4.0                     # the first cycles lie within the grid's first steps
    expected = 100.0 * (hz / 50.0 + 0.02 * np.maximum(1.0 - hz / 10.0, 0.0))
    assert volts[late] == pytest.approx(expected[late], abs=0.3)
    hz, flux = find_line(lower, "step_down, from side").get_data()
    assert flux[hz > 20.0] == pytest.approx(1.0, abs=0.01) and flux[hz < 5.0].max() > 1.15
    assert np.asarray(find_line(lower, "limit 1.7").get_ydata()) == pytest.approx(1.7)
    assert "Frequency of host_drive [Hz]" in read_words(figure)
    assert find_overlaps(figure) == []


def test_a_drive_that_stays_at_its_frequency_has_no_path():
    run = make_ramp(top=2.0)
    assert not has_path(run, run.case.drives[0]) and has_path(make_ramp(), run.case.drives[0])
