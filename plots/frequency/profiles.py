"""Voltage along a cable at the resonances: where it is stressed most, and where it does not move at all."""

from collections.abc import Sequence

import numpy as np

from plots.page.assembly import finish
from plots.page.page import add_axes, name_axes, new_figure, palette
from sim.results.scan import Along

HEIGHT = 2.4
MOST = 5                # resonances in one panel


def draw_profiles(cable: str, panels: Sequence[tuple[str, Sequence[Along]]], joints: Sequence[float] = (),
                  title: str | None = None, foot: tuple[str, str] = ("", "")):
    """Figure of one cable.

    Parameters
    ----------
    cable : str
    panels : sequence of (str, sequence of Along)
        Name of the axis and the resonances of each panel, lowest first.
    joints : sequence of float
        Places of joints. [km]
    title : str, optional
    foot : tuple of str

    Returns
    -------
    figure : Figure
    """
    figure = new_figure()
    axes_list: list = []
    for words, along in panels:
        axes = add_axes(figure, axes_list[0] if axes_list else None)
        axes_list.append(axes)
        draw_panel(axes, along[:MOST])
        name_axes(axes, y=words)
        for km in joints:
            axes.axvline(km, color=palette.QUIET, linewidth=palette.FINE_LINE, label="_joint", zorder=2)
    for axes in axes_list[:-1]:
        axes.tick_params(labelbottom=False)
    name_axes(axes_list[-1], x=f"Distance along {cable} [km]")
    axes_list[0].set_xlim(0.0, max(one.km[-1] for _, along in panels for one in along))
    return finish(figure, axes_list, [HEIGHT] * len(axes_list), [], title or f"{cable}: voltage at the resonances",
                  describe(panels), foot)


def draw_panel(axes, along: Sequence[Along]) -> None:
    """A line for each resonance, of its own largest value, which is marked; its name tells the gain there."""
    for k, one in enumerate(along):
        at, colour = int(np.argmax(one.size)), palette.LINES[k]
        name = f"{one.frequency_hz:.4g} Hz"
        if one.is_gain:
            name += f":\ngain {one.size[at]:.3g} at km {one.km[at]:.3g}"
        axes.plot(one.km, one.size / one.size[at], color=colour, linestyle=palette.DASHES[k % len(palette.DASHES)],
                  linewidth=palette.BOLD_LINE, label=name, zorder=3)
        axes.plot(one.km[at], 1.0, color=colour, marker="o", markersize=4.5, markeredgecolor="white", label="_point",
                  zorder=4, clip_on=False)
    axes.set_ylim(0.0, 1.1)


def describe(panels: Sequence[tuple[str, Sequence[Along]]]) -> str:
    """What is drawn, and what had to be left out."""
    left = sum(max(len(along) - MOST, 0) for _, along in panels)
    note = f"; {left} of higher frequency are not shown" if left else ""
    return ("magnitude along the cable, of its largest value (points), from the exact line between the voltages of its "
            f"ends{note}")
