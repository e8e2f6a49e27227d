"""Figures of a scan: what they show, and texts that keep apart."""

import numpy as np
import pytest
from figure_reading import find_line, find_overlaps, read_words

from plots.frequency.orders import draw_crossings
from plots.frequency.profiles import draw_profiles
from plots.frequency.response import draw_gain, draw_impedance
from sim.results.scan import Along, Curve, Meeting, Ray, Ringing

HZ = np.geomspace(10.0, 5000.0, 400)
FOOT = ("small voltages", "a case")


def ring(hz, quality, peak):
    """Response of one resonance: 1/(1 - x^2 + j x/Q), scaled so that its peak is `peak`."""
    x = HZ / hz
    return peak / quality / (1.0 - x**2 + 1j * x / quality)


def test_gain_marks_its_peak_and_the_limit():
    curves = [Curve("cable_end", HZ, ring(216.0, 20.0, 14.0), [Ringing(216.0, 20.0)]),
              Curve("host_bus", HZ, 0.9 * np.ones_like(HZ) + 0j, [])]
    figure = draw_gain("topside_drive", curves, 3.0, foot=FOOT)
    words = read_words(figure)
    assert "at cable_end, Q 20" in words and "gain 3" in words and "cable_end" in words
    assert find_overlaps(figure) == []


def test_impedance_of_both_sequences():
    curves = [Curve("positive sequence", HZ, 100.0 * ring(216.0, 20.0, 1.0), [Ringing(216.0, 20.0)]),
              Curve("zero sequence", HZ, 300.0 * ring(400.0, 5.0, 1.0), [Ringing(400.0, 5.0)])]
    figure = draw_impedance("cable_end", curves, foot=FOOT)
    assert len(figure.axes) == 2                                    # magnitude and angle
    assert find_overlaps(figure) == []


def test_crossings_lie_on_their_rays():
    meetings = [Meeting(order, 216.6 / order, 216.6, 14.5, 14.5 / order, "cable_end", True) for order in (5, 7, 11, 13)]
    rays = [Ray(order, [(190.0 / order, 241.0 / order)]) for order in (5, 7, 11, 13)]
    figure = draw_crossings("topside_drive", (2.0, 60.0), rays, [216.6], meetings, 3.0, foot=FOOT)
    axes = figure.axes[0]
    x, y = find_line(axes, "_order 5").get_data()
    assert np.asarray(y) == pytest.approx(5.0 * np.asarray(x))
    assert "43.3 Hz" in read_words(figure)
    assert find_overlaps(figure) == []


def test_profiles_run_from_end_to_end():
    km = np.linspace(0.0, 60.0, 61)
    along = [Along(216.6, km, 14.5 * np.sin(0.5 + km / 60.0), True), Along(1079.0, km, np.abs(np.cos(km / 20.0)), True)]
    figure = draw_profiles("umbilical", [("Positive sequence [1]", along)], [20.0], foot=FOOT)
    assert "216.6 Hz" in read_words(figure) and "1079 Hz" in read_words(figure)
    assert figure.axes[0].get_xlim() == pytest.approx((0.0, 60.0))
    assert find_overlaps(figure) == []
