"""Map of a start: breakaway torque that each limit leaves over the start frequency, and where a window is left."""

from collections.abc import Sequence

import numpy as np

from plots.page.assembly import finish
from plots.page.labels import place_note, place_remark
from plots.page.page import add_axes, name_axes, new_figure, palette
from sim.results.window import Curve, Tried

HEIGHT = 4.6
LEAST = 0.05            # a line that shows on less of the map is left out
ABOVE = 1.9             # the map reaches so many times the torque required, or what shows the settings
MARKERS = {"breaks away": "o", "stays at standstill": "X", "stops again": "X", "trips": "v", "not assessed": "D"}


def draw_start_window(drive: str, hz: np.ndarray, curves: Sequence[Curve], required: float,
                      settings: Sequence[Tried], sentence: str = "", foot: tuple[str, str] = ("", "")):
    """Figure of one drive.

    Parameters
    ----------
    drive : str
    hz : ndarray, shape (F,)
        Start frequencies, ascending. [Hz]
    curves : sequence of Curve
        Torques of shape (F,), NaN where nothing limits.
    required : float
        Torque required over breakaway torque. [1]
    settings : sequence of Tried
        The recommended or nearest one first.
    sentence : str
    foot : tuple of str

    Returns
    -------
    figure : Figure
    """
    figure = new_figure()
    axes = add_axes(figure)
    top = ABOVE * max([required, 1.0, *(1.1 * one.torque / ABOVE for one in settings)])
    limits = [curve for curve in curves if curve.kind in ("limit", "flux")]
    most = np.fmin.reduce([np.where(np.isfinite(curve.torque), curve.torque, np.inf) for curve in limits])
    axes.fill_between(hz, required, most, where=most >= required, interpolate=True, color=palette.LEFT_OVER,
                      linewidth=0.0, zorder=1.2)
    colours = iter(palette.LINES)
    for curve in curves:
        draw_curve(axes, hz, curve, top, next(colours) if curve.kind != "boost" else palette.QUIET)
    for level, name, dash in ((1.0, "breakaway", palette.LOAD_DASH), (required, "required", palette.LIMIT_DASH)):
        if level != required or name == "required":
            axes.plot(hz[[0, -1]], [level, level], color=palette.LIMIT, linewidth=1.2, linestyle=dash, label=name,
                      zorder=2.9)
    axes.set_xlim(hz[0], hz[-1])
    axes.set_ylim(0.0, top)
    name_axes(axes, x=f"Start frequency of {drive} [Hz]", y="Torque at standstill over breakaway torque [1]")
    finish(figure, [axes], [HEIGHT], [], f"{drive}: start window", sentence, foot)
    notes: list = []
    for k, one in enumerate(settings):
        notes.append(note_setting(axes, one, k == 0, notes))
    if not (most >= required).any():
        notes.append(place_remark(axes, "no window: no frequency leaves the torque\nrequired within all limits",
                                  palette.LIMIT, notes))
    return figure


def draw_curve(axes, hz: np.ndarray, curve: Curve, top: float, colour: str) -> None:
    """One line, cut where it leaves the map so that its name stands at its end."""
    style = {"limit": (1.8, "-"), "flux": (1.5, palette.DASHES[1]), "law": (1.3, palette.DASHES[2]),
             "boost": (0.7, "-")}[curve.kind]
    shown = np.where(curve.torque <= top, curve.torque, np.nan)
    seen = np.isfinite(shown)
    if seen.mean() > LEAST:
        last = int(np.flatnonzero(seen)[-1]) + 1
        axes.plot(hz[:last], shown[:last], color=colour, linewidth=style[0], linestyle=style[1],
                  label=curve.name if curve.kind != "boost" else f"_{curve.name}",
                  zorder=2.2 if curve.kind == "boost" else 2.6)
        if curve.kind == "boost":
            k = int(np.flatnonzero(seen)[0])
            axes.annotate(curve.name, (hz[k], shown[k]), xytext=(2, -1), textcoords="offset points", va="top",
                          fontsize=palette.SMALL - 1.0, color=palette.QUIET)


def note_setting(axes, one: Tried, is_first: bool, taken: list):
    """Marker and note of a setting."""
    colour = palette.INK if is_first else palette.LIMIT
    marker = MARKERS.get(one.outcome, "o") if one.outcome else "o"
    axes.plot([one.hz], [one.torque], marker=marker, markersize=7 if is_first else 6, color=colour, label="_point",
              markeredgecolor="white", linestyle="none", zorder=6)
    return place_note(axes, (one.hz, one.torque), one.text, colour, taken)
