"""Impedance of a node, and voltage transfer to the nodes, against frequency.

Both axes are in decades; the upright one is linear in the decimal logarithm, so that lines are named at their ends like
those of every other figure.  Resonances are marked where a curve has a clear peak there; the scan's own limit on the
gain of a drive's harmonics is drawn as a line.
"""

from collections.abc import Sequence
from typing import Any

import numpy as np
from matplotlib.ticker import FixedLocator, FuncFormatter, LogLocator, MultipleLocator, NullLocator

from plots.curves.traces import draw_limit
from plots.page.assembly import finish
from plots.page.labels import place_note
from plots.page.page import add_axes, name_axes, new_figure, palette
from sim.results.scan import Curve, Ringing

IMPEDANCE_HEIGHTS, GAIN_HEIGHT = (3.0, 1.7), 4.2
NEAR = 0.03             # a peak within this share of a resonance's frequency, or half its half-width, is that resonance
CLEAR_PEAK = 1.05       # a peak rises by this factor at least above the valleys beside it
DEEPEST = 1e-3          # a gain below this share of the largest is off the figure
ROOM = 0.2              # decades left free above the curves, for notes
STEPS = (1.0, 2.0, 5.0) # ticks within a decade, where there are few decades
MOST_NOTES, ON_CURVE = 6, 3  # of the highest peaks in a figure of gains, and on each curve of one of impedances
LEAST = 1e-12           # magnitudes below are drawn there


def draw_impedance(node: str, curves: Sequence[Curve], title: str | None = None, foot: tuple[str, str] = ("", "")):
    """Figure of what a node looks like: magnitude and angle of its driving-point impedance.

    Parameters
    ----------
    node : str
    curves : sequence of Curve
        Positive sequence first, in ohm.
    title : str, optional
    foot : tuple of str
        Left and right text at the foot.

    Returns
    -------
    figure : Figure
    """
    figure = new_figure()
    size = add_axes(figure)
    angle = add_axes(figure, size)
    for curve, colour, dash in zip(curves, palette.LINES, palette.DASHES):
        look = {"color": colour, "linestyle": dash, "linewidth": palette.BOLD_LINE, "zorder": 3}
        size.plot(curve.frequency, np.log10(np.abs(curve.values)), label=curve.name, **look)
        angle.plot(curve.frequency, np.degrees(np.angle(curve.values)), label=f"_angle {curve.name}", **look)
    frame_frequency((size, angle), curves)
    frame_decades(size, [np.abs(curve.values) for curve in curves], 0.0)
    reach = max(90.0, *(np.degrees(np.abs(np.angle(curve.values))).max() for curve in curves))
    angle.set_ylim(-1.05 * reach, 1.05 * reach)
    angle.yaxis.set_major_locator(MultipleLocator(45.0))
    name_axes(size, y="|Z| [ohm]")
    name_axes(angle, x="Frequency [Hz]", y="Angle [degrees]")
    finish(figure, [size, angle], list(IMPEDANCE_HEIGHTS), [], title or f"{node}: impedance to earth",
           describe_impedance(curves), foot)
    mark_curves(size, curves, palette.LINES, "{size} ohm at {hz} Hz, Q {quality:.3g}")
    return figure


def draw_gain(source: str, curves: Sequence[Curve], limit: float | None = None, title: str | None = None,
              foot: tuple[str, str] = ("", "")):
    """Figure of the voltage transfer from a source to every node.

    Parameters
    ----------
    source : str
    curves : sequence of Curve
        One for each node, per unit.
    limit : float, optional
        Largest gain that is left to a drive's harmonics.
    title : str, optional
    foot : tuple of str

    Returns
    -------
    figure : Figure
    """
    figure = new_figure()
    axes = add_axes(figure)
    looks = [(colour, palette.DASHES[k // len(palette.LINES) % len(palette.DASHES)]) for k in range(len(curves))
             for colour in [palette.LINES[k % len(palette.LINES)]]]
    for curve, (colour, dash) in zip(curves, looks):
        axes.plot(curve.frequency, np.log10(np.maximum(np.abs(curve.values), LEAST)), color=colour, linestyle=dash,
                  linewidth=palette.BOLD_LINE, label=curve.name, zorder=3)
    if limit is not None:
        draw_limit(axes, np.log10(limit), f"gain {limit:g}")
    frame_frequency((axes,), curves)
    frame_decades(axes, [np.abs(curve.values) for curve in curves], DEEPEST)
    name_axes(axes, x="Frequency [Hz]", y="Gain [1]")
    finish(figure, [axes], [GAIN_HEIGHT], [], title or f"{source}: voltage transfer to the nodes",
           "voltage of each node over that behind the impedance of the source, both per unit of nominal; points: "
           "resonances", foot)
    mark_highest(axes, curves, [colour for colour, _ in looks])
    return figure


def frame_frequency(panels: Sequence[Any], curves: Sequence[Curve]) -> None:
    """Decades along the foot, numbers only under the last panel."""
    for axes in panels:
        axes.set_xscale("log")
        axes.xaxis.set_major_locator(LogLocator(10.0, subs=(1.0, 2.0, 5.0), numticks=20))
        axes.xaxis.set_minor_locator(NullLocator())
        axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
        axes.tick_params(labelbottom=axes is panels[-1])
    panels[0].set_xlim(min(curve.frequency[0] for curve in curves), max(curve.frequency[-1] for curve in curves))


def frame_decades(axes, magnitudes: Sequence[np.ndarray], deepest: float) -> None:
    """Height in decades that holds all curves but what is below a share of the largest value."""
    highest = max(values.max() for values in magnitudes)
    seen = np.concatenate([values[values > deepest * highest] for values in magnitudes])
    low, high = np.log10(seen.min()) - ROOM, np.log10(highest) + 2.0 * ROOM
    steps = STEPS if high - low < 3.0 else STEPS[:1]
    ticks = [decade + np.log10(step) for decade in range(int(low) - 1, int(high) + 2) for step in steps]
    axes.yaxis.set_major_locator(FixedLocator(ticks))
    axes.yaxis.set_minor_locator(NullLocator())
    axes.yaxis.set_major_formatter(FuncFormatter(lambda value, _: write_size(10.0**value)))
    axes.set_ylim(low, high)


def find_marks(curve: Curve) -> list[tuple[float, float, Ringing]]:
    """Frequency [Hz] and magnitude of the peaks of a curve that are resonances, the highest first."""
    size = np.abs(curve.values)
    tops = np.flatnonzero((size[1:-1] > size[:-2]) & (size[1:-1] >= size[2:])) + 1
    peaks, marks = [k for k in tops if is_clear(size, k)], []
    for mode in curve.resonances:
        near = [k for k in peaks if abs(curve.frequency[k] / mode.frequency_hz - 1.0) < NEAR + 0.25 / mode.quality]
        if near:
            best = max(near, key=lambda k: size[k])
            marks.append((float(curve.frequency[best]), float(size[best]), mode))
    unique = {hz: (hz, value, mode) for hz, value, mode in marks}
    return sorted(unique.values(), key=lambda mark: -mark[1])


def is_clear(size: np.ndarray, at: int) -> bool:
    """Whether a peak stands out from the valleys between it and higher ground on either side."""
    higher = np.flatnonzero(size > size[at])
    left, right = higher[higher < at], higher[higher > at]
    valleys = size[left[-1] if len(left) else 0:at + 1].min(), size[at:right[0] + 1 if len(right) else None].min()
    return bool(size[at] > CLEAR_PEAK * max(valleys))


def mark_curves(axes, curves: Sequence[Curve], colours: Sequence[str], words: str) -> list:
    """Notes at the highest peaks of every curve; more would cover the curves."""
    notes: list = []
    for curve, colour in zip(curves, colours):
        for hz, value, mode in find_marks(curve)[:ON_CURVE]:
            text = words.format(size=write_size(value), hz=write_hz(hz), quality=mode.quality)
            notes.append(place_note(axes, (hz, np.log10(value)), text, colour, notes))
    return notes


def mark_highest(axes, curves: Sequence[Curve], colours: Sequence[str]) -> list:
    """A note for each resonance at the curve that peaks highest there, the highest resonances only."""
    best: dict = {}
    for curve, colour in zip(curves, colours):
        for hz, value, mode in find_marks(curve):
            if value > best.get(mode, (0.0, 0.0))[1]:
                best[mode] = hz, value, colour, curve.name
    notes: list = []
    low, _ = axes.get_ylim()
    for mode, (hz, value, colour, name) in sorted(best.items(), key=lambda item: -item[1][1])[:MOST_NOTES]:
        if np.log10(value) > low:
            text = f"{write_hz(hz)} Hz: {write_size(value)} at {name}, Q {mode.quality:.3g}"
            notes.append(place_note(axes, (hz, np.log10(value)), text, colour, notes))
    return notes


def write_hz(value: float) -> str:
    """A frequency with four digits at least."""
    return f"{value:.0f}" if value >= 1000.0 else f"{value:.4g}"


def write_size(value: float) -> str:
    """A magnitude with three digits, without an exponent as far as ten million."""
    return f"{value:.0f}" if 1000.0 <= value < 1e7 else f"{value:.3g}"


def describe_impedance(curves: Sequence[Curve]) -> str:
    """How to read the panels, in a sentence."""
    return f"sources short-circuited; {', '.join(curve.name for curve in curves)}; points: the highest resonances"
