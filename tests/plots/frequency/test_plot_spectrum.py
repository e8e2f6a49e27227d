"""Spectrum of a span: lines, distortion, what is worth a figure."""

from types import SimpleNamespace

import numpy as np
from figure_reading import find_overlaps, read_words

from plots.frequency.spectrum import draw_spectrum, list_worth
from sim.measures.signals.spectrum import Spectrum

RUN = SimpleNamespace(label="a run", summary={}, case=SimpleNamespace(sha256="0" * 64))


def make(node, scale=1.0):
    hz = 60.0 * np.arange(1, 120)
    share = np.zeros(len(hz))
    for order, pct in ((1, 100.0), (5, 2.0 * scale), (25, 9.5 * scale), (29, 9.4 * scale), (53, 4.0 * scale)):
        share[order - 1] = pct
    return Spectrum(node, 44.5, 44.7, 60.0, hz, 66.0 * share, 6600.0, float(np.sqrt(np.sum(share[1:] ** 2)) / 100.0))


def test_lines_and_distortion_are_told():
    figure = draw_spectrum(RUN, [make("host_bus"), make("motor_terminals", 0.1)])
    words = read_words(figure)
    assert "THD 14.1 %" in words and "order 25: 9.5 %" in words and "[% of 60 Hz]" in words
    assert figure.axes[-1].get_xlabel() == "Frequency [Hz]"
    assert find_overlaps(figure) == []


def test_only_distorted_spans_are_worth_a_figure():
    assert list_worth([make("host_bus", 0.01)]) == []
    assert [len(group) for group in list_worth([make("host_bus"), make("motor_terminals", 0.001)])] == [2]
