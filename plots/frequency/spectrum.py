"""Spectrum of the voltage at drive and motor over a span in detail, with the distortion of each."""

import numpy as np

from plots.page.assembly import finish, identify
from plots.page.labels import place_note, place_remark
from plots.page.page import add_axes, name_axes, new_figure, palette

HEIGHT = 1.9
SHOWN_PCT = 0.05        # smaller lines are not drawn
NAMED = 3               # lines told in each panel
LEAST_PCT = 0.5         # and none below this
WORTH_PCT = 1.0         # a spectrum is drawn from this distortion at any node
ROOM = 1.3              # above the highest line


def list_worth(spectra):
    """Spans, as lists of spectra, in which any node is distorted enough for a figure."""
    spans = {}
    for one in spectra:
        spans.setdefault((round(one.end, 6)), []).append(one)
    return [group for group in spans.values() if max(one.distortion for one in group) > 0.01 * WORTH_PCT]


def draw_spectrum(run, group):
    """Figure of one span.

    Parameters
    ----------
    run : StoredRun
    group : list of Spectrum
        Of the same span, a panel each.

    Returns
    -------
    figure : Figure
    """
    figure, panels = new_figure(), []
    for one in group:
        axes = add_axes(figure, panels[0] if panels else None)
        panels.append(axes)
        share = 100.0 * one.amplitude / one.fundamental
        rest = np.abs(one.hz - one.fundamental_hz) > 1e-6 * one.fundamental_hz
        shown = rest & (share > SHOWN_PCT)
        draw_lines(axes, one.hz[shown], share[shown])
        highest = max(share[rest].max(initial=0.0), LEAST_PCT)
        axes.set_ylim(0.0, ROOM * highest)
        name_axes(axes, y=f"{one.node} [% of {one.fundamental_hz:.3g} Hz]")
    panels[0].set_xlim(0.0, max(find_top(one) for one in group))
    for axes in panels[:-1]:
        axes.tick_params(labelbottom=False)
    name_axes(panels[-1], x="Frequency [Hz]")
    first = group[0]
    sentence = (f"voltage between two phases from {first.start:.4g} to {first.end:.4g} s, fundamental "
                f"{first.fundamental_hz:.4g} Hz; THD counts every line up to the study's bandwidth")
    finish(figure, panels, [HEIGHT] * len(panels), [], "Spectrum of the voltage", sentence,
           ("lines of a whole number of periods, RMS", identify(run)))
    for axes, one in zip(panels, group):
        note_lines(axes, one)
    return figure


def draw_lines(axes, hz, share):
    """Upright lines as one line with gaps, so that notes keep off them."""
    gap = np.full(len(hz), np.nan)
    axes.plot(np.stack([hz, hz, gap], axis=1).ravel(), np.stack([0.0 * share, share, gap], axis=1).ravel(),
              color=palette.LINES[0], linewidth=1.2, solid_capstyle="butt", label="_lines")


def find_top(one):
    """Highest frequency at which a line is worth showing. [Hz]"""
    seen = one.hz[100.0 * one.amplitude > SHOWN_PCT * one.fundamental]
    return 1.05 * float(seen.max(initial=2.0 * one.fundamental_hz))


def note_lines(axes, one):
    """The distortion, and the largest lines by order."""
    share = 100.0 * one.amplitude / one.fundamental
    rest = np.abs(one.hz - one.fundamental_hz) > 1e-6 * one.fundamental_hz
    notes = [place_remark(axes, f"THD {100.0 * one.distortion:.3g} %, fundamental {one.fundamental / 1e3:.3g} kV",
                          palette.INK)]
    for k in sorted(np.flatnonzero(rest), key=lambda k: -share[k])[:NAMED]:
        if share[k] >= LEAST_PCT:
            text = f"order {one.hz[k] / one.fundamental_hz:.4g}: {share[k]:.2g} %"
            notes.append(place_note(axes, (one.hz[k], share[k]), text, palette.INK, notes))
