"""Current zeros of a breaker: the currents of its poles, every zero marked, the longest stretch without one shaded."""

import numpy as np

from plots.curves.traces import fit_both_ways
from plots.page.assembly import finish, identify
from plots.page.decimation import thin
from plots.page.flags import Flag, write_number
from plots.page.labels import place_remark
from plots.page.page import add_axes, name_axes, new_figure, palette
from plots.switching.moments import PHASES
from sim.measures.signals.axis import follow_frequency
from sim.measures.switching.zeros import find_floor, find_longest, list_zeros, measure_longest

HEIGHT = 1.45
NOTE_ROOM = 0.3
WORTH_CYCLES = 0.5       # without a zero for a whole cycle: worth a figure
CYCLES_BEFORE, CYCLES_AFTER = 1.0, 3.0
MOST_CYCLES = 60.0       # of a longer stretch its beginning is shown
FLAGGED = {"close": "closes", "open": "opens", "fault": "fault", "fault_cleared": "fault goes out"}


def find_missing(run, breaker):
    """The longest stretch without zero of a breaker, None when no pole missed its zeros for a whole cycle."""
    entry = (run.summary.get("breakers") or {}).get(breaker.name) or {}
    if (entry.get("missing_zero_cycles") or 0.0) <= WORTH_CYCLES:
        return None
    longest = find_longest(run, breaker, follow_frequency(run, breaker.from_node))
    return longest if longest is not None and longest.cycles > WORTH_CYCLES else None


def draw_zeros(run, breaker, longest):
    """Figure of the pole currents around the longest stretch without zero.

    Parameters
    ----------
    run : StoredRun
    breaker : Record
    longest : ZeroFree
        From `find_missing`.

    Returns
    -------
    figure : Figure
        A panel for each pole.
    """
    stretch = next(stretch for stretch in run.stretches if stretch.engine == "waveform" and len(stretch.t)
                   and stretch.t[0] <= longest.start <= stretch.t[-1])
    frequency = follow_frequency(run, breaker.from_node)
    window = find_window(stretch, longest, 1.0 / max(frequency(longest.start), 1.0))
    figure, panels = new_figure(), []
    for pole in PHASES:
        axes = add_axes(figure, panels[0] if panels else None)
        panels.append(axes)
        draw_pole(axes, stretch, breaker, pole, window, frequency)
    panels[0].set_xlim(*window)
    for axes in panels[:-1]:
        axes.tick_params(labelbottom=False)
    name_axes(panels[-1], x="Time [s]")
    finish(figure, panels, [HEIGHT] * len(panels), make_flags(run, window), f"{breaker.name}: current zeros",
           describe(longest), ("points: zeros; shaded: longest time without one", identify(run)))
    label_gaps(panels, stretch, breaker, window, frequency)
    return figure


def find_window(stretch, longest, cycle):
    """Start and end of what is drawn. [s]"""
    last = min(longest.end + CYCLES_AFTER * cycle, longest.start + MOST_CYCLES * cycle)
    return max(stretch.t[0], longest.start - CYCLES_BEFORE * cycle), min(stretch.t[-1], last)


def draw_pole(axes, stretch, breaker, pole, window, frequency):
    """Current of one pole with its zeros; the name of the line counts them."""
    name_axes(axes, y=f"Pole {pole} [A]")
    t, i = cut(stretch, breaker, pole, window)
    zeros = list_zeros(t, i, find_floor(breaker))
    colour = palette.PHASES[pole]
    axes.plot(*thin(t, i), color=colour, linewidth=1.1, zorder=3, label=f"pole {pole}:\n{len(zeros)} zeros")
    axes.plot(zeros, np.zeros(len(zeros)), color=colour, marker="o", markersize=4.0, markeredgecolor="white",
              linestyle="none", zorder=5, label="_zeros")
    gap = measure_longest(t, i, pole, find_floor(breaker), frequency)
    if gap.cycles > 0.0:
        axes.axvspan(gap.start, gap.end, color=palette.SHORTFALL, linewidth=0.0, zorder=0.6)
    fit_both_ways(axes, room=NOTE_ROOM)


def cut(stretch, breaker, pole, window):
    """Time [s] and current [A] of one pole within the window."""
    part = slice(np.searchsorted(stretch.t, window[0]), np.searchsorted(stretch.t, window[1], side="right"))
    return stretch.t[part], stretch.signals[breaker.name][f"current_{pole}"][part]


def make_flags(run, window):
    """What was switched within the window."""
    return [Flag(event.t, f"{event.where} {FLAGGED[event.what]}, {write_number(event.t, 3)} s") for event in run.events
            if event.what in FLAGGED and window[0] <= event.t <= window[1]]


def describe(longest):
    """The longest stretch in a sentence."""
    length = longest.end - longest.start
    return (f"pole {longest.pole} carries its current without a zero for {write_number(length, 3)} s, "
            f"{longest.cycles + 0.5:.1f} cycles; a breaker cannot interrupt it in this time")


def label_gaps(panels, stretch, breaker, window, frequency):
    """Say in each panel how long it has no zero."""
    for axes, pole in zip(panels, PHASES):
        gap = measure_longest(*cut(stretch, breaker, pole, window), pole, find_floor(breaker), frequency)
        place_remark(axes, f"longest time without a zero: {gap.cycles + 0.5:.2f} cycles", palette.PHASES[pole])
