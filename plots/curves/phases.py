"""Three phases of one quantity around a switching, and the moves of the poles as flags."""


import numpy as np

from plots.page.decimation import thin
from plots.page.flags import Flag
from plots.page.labels import place_note
from plots.page.page import palette
from plots.switching.moments import PHASES, list_poles

ORDERS = {"open": "order to open", "stop": "order to stop", "trip": "trip", "close": "closes", "fault": "fault",
          "fault_cleared": "arc goes out"}
TOGETHER = 1e-4          # poles that close this soon after the order need no flags of their own [s]
DEEDS = {"pole_open": "opens", "pole_close": "closes", "reignition": "re-ignites"}


def draw_phases(axes, stretch, owner, stem, window, origin=0.0, scale=1.0, name="phase {}"):
    """Three phases of one quantity against the time after `origin` [ms].

    Parameters
    ----------
    axes : Axes
    stretch : Stretch
        Of the waveform engine.
    owner, stem : str
        Component or node, and quantity without its phase.
    window : tuple of float
        Start and end of what is drawn. [s]
    origin : float
        [s]
    scale : float
        From the unit of the signal to that of the axes.
    name : str
        Name of a line, with a place for the phase.

    Returns
    -------
    lines : list of Line2D
        Of the phases that the stretch holds.
    """
    signals = stretch.signals.get(owner, {})
    part = slice(np.searchsorted(stretch.t, window[0]), np.searchsorted(stretch.t, window[1], side="right"))
    lines = []
    for phase in PHASES:
        if f"{stem}_{phase}" in signals:
            t, y = thin(1e3 * (stretch.t[part] - origin), scale * signals[f"{stem}_{phase}"][part])
            lines += axes.plot(t, y, color=palette.PHASES[phase], linewidth=1.1, zorder=3, label=name.format(phase))
    return lines


def flag_moves(run, event, window):
    """The order and every pole that moved because of it, on an axis of the time after it [ms]."""
    flags = [Flag(0.0, ORDERS[event.what], palette.INK, True)]
    poles = list_poles(run, event)
    if event.what == "close" and all(abs(pole.t - event.t) <= TOGETHER for pole in poles):
        poles = []
    for pole in poles:
        after = 1e3 * (pole.t - event.t)
        flags.append(Flag(after, f"pole {pole.phase} {DEEDS[pole.what]}, {after:.2f} ms", palette.PHASES[pole.phase]))
    low, high = (1e3 * (moment - event.t) for moment in window)
    return [flag for flag in flags if low <= flag.x <= high]


def mark_highest(axes, words, taken=()):
    """Note at the highest value of the phases, put into `words` by a function; None when none is drawn."""
    lines = [line for line in axes.lines if line.get_label().startswith(("phase ", "pole ", "limb "))]
    lines = [line for line in lines if np.isfinite(line.get_ydata()).any()]
    if not lines:
        return None
    line = max(lines, key=lambda line: np.nanmax(np.abs(line.get_ydata())))
    k = np.nanargmax(np.abs(line.get_ydata()))
    point = (line.get_xdata()[k], line.get_ydata()[k])
    return place_note(axes, point, words(float(abs(point[1]))), line.get_color(), taken)


def in_amperes(value):
    """A current in whole ampere, a small one to three digits. [A]"""
    return f"{value:.0f} A" if value >= 99.5 else f"{value:.3g} A"


def in_kilovolts(value):
    """A voltage in kilovolt to three digits. [kV]"""
    return f"{value:.3g} kV"
