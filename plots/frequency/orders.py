"""Crossing chart of a drive: its harmonics over its range of frequencies against the resonances of what it feeds."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from plots.page.assembly import finish
from plots.page.labels import place_note
from plots.page.page import add_axes, name_axes, new_figure, palette
from sim.results.scan import Meeting, Ray

HEIGHT = 5.2
ABOVE = 1.75            # the figure reaches this much above the highest crossing
IN_FULL = 4             # crossings with the highest peaks, told in full; of the others order and gain


def draw_crossings(drive: str, span: tuple[float, float], rays: Sequence[Ray], resonances: Sequence[float],
                   meetings: Sequence[Meeting], limit: float, title: str | None = None, sentence: str = "",
                   foot: tuple[str, str] = ("", "")):
    """Figure of one drive.

    Parameters
    ----------
    drive : str
    span : tuple of float
        Lowest and highest frequency of the drive. [Hz]
    rays : sequence of Ray
    resonances : sequence of float
        [Hz]
    meetings : sequence of Meeting
    limit : float
        Gain above which a stretch of a ray is drawn bold.
    title, sentence : str
    foot : tuple of str

    Returns
    -------
    figure : Figure
    """
    figure = new_figure()
    axes = add_axes(figure)
    top = find_top(span, rays, resonances, meetings)
    for ray in rays:
        draw_ray(axes, ray, span, top)
    for hz in resonances:
        if hz < top:
            axes.plot([0.0, span[1]], [hz, hz], color=palette.LINES[3], linewidth=1.2, linestyle=palette.DASHES[1],
                      label=f"resonance {hz:.4g} Hz", zorder=2.4)
    axes.set_xlim(0.0, 1.02 * span[1])
    axes.set_ylim(0.0, top)
    name_axes(axes, x=f"Frequency of {drive} [Hz]", y="Harmonic frequency [Hz]")
    finish(figure, [axes], [HEIGHT], [], title or f"{drive}: harmonics and resonances", sentence,
           (f"bold: gain above {limit:g}; points: order, gain and peak of fundamental and harmonic", foot[1]))
    name_rays(axes, rays, span, top)
    note_meetings(axes, meetings, top)
    return figure


def find_top(span: tuple[float, float], rays: Sequence[Ray], resonances: Sequence[float],
             meetings: Sequence[Meeting]) -> float:
    """Height of the chart: what holds the crossings, else the first resonance, else all orders. [Hz]"""
    reach = max((ray.order for ray in rays), default=1) * span[1]
    highest = max((meeting.harmonic_hz for meeting in meetings), default=min(resonances, default=reach))
    return min(ABOVE * highest, 1.05 * reach)


def draw_ray(axes, ray: Ray, span: tuple[float, float], top: float) -> None:
    """Harmonic frequency of one order; its loud stretches bold."""
    end = min(span[1], top / ray.order)
    axes.plot([min(span[0], end), end], [ray.order * min(span[0], end), ray.order * end], color=palette.QUIET,
              linewidth=0.9, label=f"_order {ray.order}", zorder=2.6)
    for low, high in ray.loud:
        x = np.array([low, min(high, end)])
        if low < end:
            axes.plot(x, ray.order * x, color=palette.LIMIT, linewidth=3.0, alpha=0.55, solid_capstyle="butt",
                      label=f"_loud {ray.order}", zorder=2.8)


def name_rays(axes, rays: Sequence[Ray], span: tuple[float, float], top: float) -> list:
    """The order of every ray at its upper end."""
    names = []
    for ray in rays:
        end = min(span[1], top / ray.order)
        at_right = end == span[1]
        names.append(axes.annotate(f"{ray.order}", (end, ray.order * end), xytext=(3, 0) if at_right else (0, 2),
                                   textcoords="offset points", ha="left" if at_right else "center",
                                   va="center" if at_right else "bottom", fontsize=palette.SMALL, color=palette.INK,
                                   annotation_clip=False))
    return names


def note_meetings(axes, meetings: Sequence[Meeting], top: float) -> list:
    """A note at every crossing, the highest peaks in full and first."""
    notes: list[Any] = []
    for k, meeting in enumerate(sorted(meetings, key=lambda meeting: -meeting.peak_pu)):
        if meeting.harmonic_hz < top:
            colour = palette.LIMIT if meeting.exceeds else palette.INK
            text = f"{meeting.order}: gain {meeting.gain:.3g}"
            if k < IN_FULL:
                text += f"\n{meeting.drive_hz:.3g} Hz, {meeting.peak_pu:.2f} pu\n{meeting.node}"
            notes.append(place_note(axes, (meeting.drive_hz, meeting.harmonic_hz), text, colour, notes))
    return notes
