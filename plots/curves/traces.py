"""One signal of a run as artists: its mean over a cycle as a bold line, its ripple as a light one."""

import numpy as np

from plots.curves.series import keep_within, mean_between, rated_frequency, switching_moments, waveform_spans
from plots.page.decimation import thin
from plots.page.page import palette

NEGLIGIBLE = 0.01     # share of the height below which a negative value is rounding, not worth room


def draw_trace(axes, run, owner, t, y, name, colour, style="-", ripple=True):
    """Draw one signal over the whole run.

    Parameters
    ----------
    axes : Axes
    run : StoredRun
    owner : str
        Component or node whose signal it is: the mean goes over a rated cycle of its island.
    t, y : ndarray, shape (n,)
        Time [s] and the signal in the unit of the axes.
    name : str
        Written beside the line's end; a name beginning with "_" is not written.
    colour, style
        Of the line.
    ripple : bool
        Draw what the waveform engine saw within a cycle as a light line behind the mean.

    Returns
    -------
    lines : list of Line2D
        Envelope stretches carry no ripple: a run without waveform stretches gives one line.
    """
    look = {"color": colour, "linestyle": style, "solid_joinstyle": "round"}
    spans = waveform_spans(run) if ripple else []
    lines = []
    if spans:
        lines += axes.plot(*thin(t, keep_within(t, y, spans)), color=colour, alpha=0.35, zorder=2,
                           label=f"_ripple of {name}", linewidth=palette.FINE_LINE)
        t, y = mean_between(t, y, rated_frequency(run.case, owner), switching_moments(run))
    weight = {"linewidth": palette.BOLD_LINE, "zorder": 3}
    if colour == palette.QUIET:
        weight = {"linewidth": palette.FINE_LINE, "zorder": 2.2}
    return lines + axes.plot(*thin(t, y), label=name, **weight, **look)


def draw_limit(axes, value, name, t=None, active=None):
    """A limit as a line with its name: across the axes, or only while it holds.

    `t` and `active`, shape (n,), tell when it holds. [s], [bool]
    """
    look = {"color": palette.LIMIT, "linewidth": 1.0, "linestyle": palette.LIMIT_DASH, "label": name,
            "zorder": 2.5}
    if active is None:
        return axes.plot([0.0, 1.0], [value, value], transform=axes.get_yaxis_transform(), scalex=False,
                         **look)
    return axes.plot(*thin(t, np.where(active, float(value), np.nan)), **look)


def find_range(axes, ripple=True):
    """Lowest and highest value drawn; without the light lines if so asked.  None when nothing is drawn."""
    parts = [np.asarray(line.get_ydata(orig=False), float) for line in axes.lines
             if not (line.get_label().startswith("_ripple") and not ripple)]
    parts = [part[np.isfinite(part)] for part in parts]
    parts = [part for part in parts if len(part)]
    return (min(part.min() for part in parts), max(part.max() for part in parts)) if parts else None


def fit_height(axes, ripple=True, least=0.0):
    """Set the height of the axes to what they hold, zero included, with a little room above.

    `least` is the smallest top of the axes; without `ripple` the light lines may leave the axes.
    """
    low, high = find_range(axes, ripple) or (0.0, 1.0)
    high = max(high, least, 1e-9)
    low = min(low, 0.0) if low < -NEGLIGIBLE * high else 0.0
    room = 0.06 * (high - low)
    axes.set_ylim(low - room if low < 0.0 else 0.0, high + room)


def fit_both_ways(axes, least=0.0, room=0.08):
    """Set the height of the axes to what they hold, the same above and below zero.

    `least` is included; `room` is the share of the reach left free for notes.
    """
    low, high = find_range(axes) or (-1.0, 1.0)
    reach = (1.0 + room) * max(-low, high, least, 1e-9)
    axes.set_ylim(-reach, reach)
