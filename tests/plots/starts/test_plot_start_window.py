"""Start window: lines, shade, settings, and texts that keep apart."""

import numpy as np
import pytest
from figure_reading import find_line, find_overlaps, read_words

from plots.starts.start_window import draw_start_window
from sim.results.window import Curve, Tried

HZ = np.linspace(0.5, 5.0, 60)
CURVES = [Curve("110 % of drive current", 4.0 / HZ, "limit"), Curve("stepup\n1.6 of rated flux", 1.1 * HZ, "flux"),
          Curve("V/f without boost", 0.25 * HZ, "law"), Curve("2 %", 0.6 + 0.15 * HZ, "boost"),
          Curve("nowhere", np.full(60, np.nan), "flux")]
SETTINGS = [Tried(1.6, 1.5, "recommended: 1.6 Hz, 2.4 %\nbreaks away", "breaks away"),
            Tried(1.6, 0.85, "1.6 Hz, 1.1 %\nstays at standstill", "stays at standstill"),
            Tried(4.0, 1.2, "4 Hz, 1.4 %\ntrips", "trips")]


def shade(figure):
    """Area of the shaded region of the map."""
    paths = [path for one in figure.axes[0].collections for path in one.get_paths()]
    return sum(abs(np.sum(p.vertices[:-1, 0] * p.vertices[1:, 1] - p.vertices[1:, 0] * p.vertices[:-1, 1])) / 2.0
               for p in paths)


def test_lines_settings_and_shade():
    figure = draw_start_window("host_drive", HZ, CURVES, 1.2, SETTINGS, "a sentence", ("left", "right"))
    axes = figure.axes[0]
    current = find_line(axes, "110 % of drive current")
    x, y = current.get_data()
    shown = np.isfinite(y)
    assert y[shown] == pytest.approx(4.0 / x[shown])
    # between 1.2 and the lower of 4/f and 1.1 f, from 1.2/1.1 to 4/1.2 Hz
    f = np.linspace(1.2 / 1.1, 4.0 / 1.2, 20001)
    assert shade(figure) == pytest.approx(np.trapezoid(np.minimum(4.0 / f, 1.1 * f) - 1.2, f), rel=0.02)
    words = read_words(figure)
    for text in ("recommended", "required", "breakaway", "host_drive: start window"):
        assert text in words
    assert "[Hz]" in axes.get_xlabel() and "[1]" in axes.get_ylabel()
    assert find_overlaps(figure) == []


def test_an_empty_window_is_said():
    curves = [Curve("110 % of drive current", 1.0 / HZ, "limit"), *CURVES[1:]]
    figure = draw_start_window("host_drive", HZ, curves, 1.2, SETTINGS[2:])
    assert "no window" in read_words(figure) and shade(figure) == pytest.approx(0.0, abs=1e-9)
    assert find_overlaps(figure) == []
