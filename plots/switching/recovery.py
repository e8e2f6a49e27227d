"""Recovery voltage of a breaker: pole currents, voltage across each pole, and its rise against the standard.

The lowest panel counts time from each pole's own interruption, so that every recovery meets the envelope of
IEC 62271-100 at its origin.
"""

from dataclasses import dataclass

import numpy as np

from plots.curves.phases import draw_phases, flag_moves
from plots.curves.series import find_criterion
from plots.curves.traces import draw_limit, fit_both_ways
from plots.page.assembly import finish, identify
from plots.page.decimation import thin
from plots.page.labels import place_note, place_remark
from plots.page.page import GAP, add_axes, name_axes, new_figure, palette, say_empty
from plots.switching.moments import LONGEST_CYCLE, PHASES, find_cycle, find_stretch
from sim.measures.switching.breakers import find_rated
from sim.measures.switching.recovery import DELAY_LEVEL, find_envelope, find_open_spans, trace_recovery
from sim.results.run import Event

HEIGHTS = (1.5, 2.3, 2.5)
WIDE_GAP = 0.62          # between panels that do not share an axis [inch]
CYCLES_BEFORE, CYCLES_AFTER = 0.75, 2.0
LONGEST = 0.25           # drawn after the order at most [s]
RISES = 4.0              # rise times of the envelope that the lowest panel shows
NOTE_ROOM = 0.3
FAR = 1.6                # an envelope beyond so many times the peak is named, not drawn
DEAD_V = 1.0             # no recovery to speak of
ROUNDING = 1e-9          # of the time of an order [s]
FOOT = "instantaneous values as stored"


@dataclass(frozen=True)
class Trace:
    """Voltage [V] across one pole from `begin` [s] on, shapes (n,)."""

    pole: str
    begin: float
    t: np.ndarray
    volts: np.ndarray

    def find_peak(self, end=np.inf):
        """Sample with the largest voltage up to a time [s]: time [s], voltage [V]; no voltage when there is none."""
        count = int(np.searchsorted(self.t, end, side="right"))
        if not count:
            return self.begin, 0.0
        k = np.abs(self.volts[:count]).argmax()
        return float(self.t[k]), float(self.volts[k])


@dataclass(frozen=True)
class Opening:
    """One order to open: the breaker, the order's event, the stretch that holds it, and the recoveries after it."""

    breaker: object
    event: Event
    stretch: object
    traces: list


def list_openings(run, breaker):
    """Orders to open a breaker of which the run holds recovery voltages, in order of time."""
    entry = (run.summary.get("breakers") or {}).get(breaker.name) or {}
    orders = sorted({pole["ordered_s"] for pole in entry.get("poles") or []})
    spans = find_open_spans(run, breaker.name) if orders else []
    openings = [make_opening(run, breaker, order, [span for span in spans if order <= span.begin < following])
                for order, following in zip(orders, [*orders[1:], np.inf])]
    return [opening for opening in openings if opening is not None]


def make_opening(run, breaker, ordered, spans):
    """One opening; None without an order in the log, without a waveform or without voltage."""
    event = max((event for event in run.events if event.where == breaker.name and event.what in ("open", "trip")
                 and event.t <= ordered + ROUNDING), key=lambda event: event.t, default=None)
    stretch = event and find_stretch(run, event)
    traces = [Trace(span.pole, span.begin, *trace_recovery(run, breaker, span)) for span in spans]
    traces = [trace for trace in traces if len(trace.t)]
    alive = any(abs(trace.find_peak()[1]) > DEAD_V for trace in traces)
    return Opening(breaker, event, stretch, traces) if stretch is not None and alive else None


def draw_recovery(run, opening):
    """Figure of one opening.

    Parameters
    ----------
    run : StoredRun
    opening : Opening

    Returns
    -------
    figure : Figure
        Currents and recovery voltages against the time after the order; where the breaker has a standard envelope,
        also the rise of each pole from its own interruption on.
    """
    envelope, words = find_envelope(find_rated(run.case, opening.breaker))
    figure, window = new_figure(), find_window(run, opening)
    amps = add_axes(figure)
    volts = add_axes(figure, amps)
    panels = [amps, volts, *([] if envelope is None else [add_axes(figure)])]
    draw_currents(amps, opening, window)
    beyond = draw_voltages(volts, opening, envelope, window)
    amps.tick_params(labelbottom=False)
    amps.set_xlim(*(1e3 * (moment - opening.event.t) for moment in window))
    name_axes(volts, x=f"Time after {opening.event.t:g} s [ms]")
    if envelope is not None:
        draw_rise(panels[2], opening, envelope)
    finish(figure, panels, HEIGHTS[:len(panels)], flag_moves(run, opening.event, window),
           f"{opening.event.label}: recovery voltage", describe(run, opening, envelope, words),
           (FOOT if envelope is None else f"{FOOT}; dotted: the standard's delay line", identify(run)),
           gap=[GAP, WIDE_GAP][:len(panels) - 1], flagged=2)
    mark_peak(volts, opening, window, beyond)
    if envelope is not None:
        mark_rise(panels[2], opening, envelope)
    return figure


def find_window(run, opening):
    """Start and end of what is drawn against the time after the order. [s]"""
    stretch, order = opening.stretch, opening.event.t
    cycle = min(find_cycle(run, opening.breaker.from_node, order), LONGEST_CYCLE)
    moments = [trace.begin for trace in opening.traces] + [find_highest(opening)[1][0]]
    last = max(moment for moment in [order, *moments] if moment <= order + LONGEST) + CYCLES_AFTER * cycle
    return max(stretch.t[0], order - CYCLES_BEFORE * cycle), min(last, order + LONGEST, stretch.t[-1])


def find_highest(opening):
    """Trace with the largest voltage of an opening, and its peak: time [s], voltage [V]."""
    trace = max(opening.traces, key=lambda trace: abs(trace.find_peak()[1]))
    return trace, trace.find_peak()


def draw_currents(axes, opening, window):
    """Currents of the poles up to their zeros."""
    name_axes(axes, y="Pole current [A]")
    lines = draw_phases(axes, opening.stretch, opening.breaker.name, "current", window, opening.event.t,
                        name="pole {}")
    if not lines:
        return [say_empty(axes, f"This run holds no pole currents of {opening.breaker.name}.")]
    fit_both_ways(axes)
    return lines


def draw_voltages(axes, opening, envelope, window):
    """Voltage across each pole while it is open, with the peak of the envelope on both sides.

    Returns the words for an envelope beyond the scale, None when it is drawn.
    """
    name_axes(axes, y="Voltage across pole [kV]")
    for pole in PHASES:
        parts = [trace for trace in opening.traces if trace.pole == pole]
        if parts:
            axes.plot(*join_traces(parts, opening.event.t, window[1]), color=palette.PHASES[pole], linewidth=1.1,
                      zorder=3, label=f"pole {pole}")
    highest = max(abs(trace.find_peak(window[1])[1]) for trace in opening.traces)
    beyond = envelope is not None and envelope.peak > FAR * highest
    if envelope is not None and not beyond:
        draw_limit(axes, 1e-3 * envelope.peak, name_peak(envelope))
        draw_limit(axes, -1e-3 * envelope.peak, "_envelope below")
    fit_both_ways(axes, 1e-3 * highest if envelope is None or beyond else 1e-3 * envelope.peak, NOTE_ROOM)
    return f"beyond this scale: {name_peak(envelope)}".replace("\n", " ") if beyond else None


def name_peak(envelope):
    """Words for the peak of the envelope."""
    return f"standard peak at {envelope.rated / 1e3:g} kV:\n{envelope.peak / 1e3:.1f} kV"


def join_traces(traces, origin, end):
    """Time after `origin` [ms] and voltage [kV] of one pole up to `end` [s], a gap between its recoveries."""
    t, volts = [], []
    for trace in traces:
        inside = trace.t <= end
        x, y = thin(1e3 * (trace.t[inside] - origin), 1e-3 * trace.volts[inside])
        t += [[1e3 * (trace.begin - origin)], x, x[-1:]]
        volts += [[0.0], y, [np.nan] * len(x[-1:])]
    return np.concatenate(t), np.concatenate(volts)


def draw_rise(axes, opening, envelope):
    """Steepest recovery of each pole from its interruption on, in the envelope with its delay line."""
    end = RISES * envelope.rise_time
    for trace in find_steepest(opening, envelope):
        since = trace.t - trace.begin
        inside = np.searchsorted(since, end) + 1
        t, volts = (np.concatenate([[0.0], part[:inside]]) for part in (1e6 * since, 1e-3 * trace.volts))
        axes.plot(t, volts, color=palette.PHASES[trace.pole], linewidth=1.2, zorder=3, label=f"pole {trace.pole}",
                  marker=".", markersize=2.5)
    draw_envelope(axes, envelope, end)
    axes.set_xlim(0.0, 1e6 * end)
    shown = max(np.abs(line.get_ydata()[line.get_xdata() <= 1e6 * end]).max() for line in axes.lines)
    fit_both_ways(axes, 0.0, NOTE_ROOM)
    axes.set_ylim(-(1.0 + NOTE_ROOM) * shown, (1.0 + NOTE_ROOM) * shown)
    name_axes(axes, x="Time after each pole's interruption [us]", y="Voltage across pole [kV]")


def draw_envelope(axes, envelope, end):
    """Straight rise, peak and delay line of the standard, of both signs."""
    rise = [0.0, 1e6 * envelope.rise_time, 1e6 * end], [0.0, 1e-3 * envelope.peak, 1e-3 * envelope.peak]
    meets = envelope.delay + DELAY_LEVEL * envelope.rise_time
    delay = [1e6 * envelope.delay, 1e6 * meets], [0.0, 1e-3 * DELAY_LEVEL * envelope.peak]
    look = {"color": palette.LIMIT, "zorder": 2.5}
    for sign in (1.0, -1.0):
        name = f"standard envelope\nat {envelope.rated / 1e3:g} kV" if sign > 0.0 else "_envelope below"
        axes.plot(rise[0], np.multiply(sign, rise[1]), linestyle=palette.LIMIT_DASH, linewidth=1.0, label=name, **look)
        axes.plot(delay[0], np.multiply(sign, delay[1]), linestyle=palette.DASHES[2], linewidth=0.8, label="_delay",
                  **look)


def find_steepest(opening, envelope):
    """The steepest recovery of each pole."""
    best = {}
    for trace in opening.traces:
        rate = find_touch(trace, envelope)[2]
        if trace.pole not in best or rate > best[trace.pole][0]:
            best[trace.pole] = (rate, trace)
    return [trace for _, trace in best.values()]


def find_touch(trace, envelope):
    """Where the steepest line through the origin touches a recovery: time [s], voltage [V], slope [V/s]."""
    since = np.concatenate([[envelope.delay], trace.t - trace.begin])
    volts = np.concatenate([[np.interp(envelope.delay, [0.0, *since[1:]], [0.0, *trace.volts])], trace.volts])
    slope = np.where(since >= envelope.delay, np.abs(volts) / np.maximum(since, envelope.delay), 0.0)
    k = slope.argmax()
    return float(since[k]), float(volts[k]), float(slope[k])


def describe(run, opening, envelope, words):
    """Peak and rise in a sentence, held against the standard."""
    trace, (_, volts) = find_highest(opening)
    peak = f"largest stored recovery voltage {abs(volts) / 1e3:.3g} kV, pole {trace.pole}"
    if envelope is None:
        return f"{peak}; not held against the standard: {words}"
    rate = max(find_touch(trace, envelope)[2] for trace in opening.traces)
    row = find_criterion(run, "recovery_rate", opening.breaker.name) or {}
    unsure = f" ({row['reason']})" if row.get("level") == "not assessed" and row.get("reason") else ""
    return (f"{peak}, {100.0 * abs(volts) / envelope.peak:.0f} % of the standard's "
            f"{envelope.peak / 1e3:.1f} kV; steepest rise {1e-9 * rate:.3g} kV/us, "
            f"{100.0 * rate / envelope.rate:.0f} % of {1e-9 * envelope.rate:.2f} kV/us{unsure}")


def mark_peak(axes, opening, window, beyond):
    """Notes at the largest voltage across each pole within the axes, and what is beyond the scale."""
    notes = []
    for pole in PHASES:
        peaks = [trace.find_peak(window[1]) for trace in opening.traces if trace.pole == pole]
        at, volts = max(peaks, key=lambda peak: abs(peak[1]), default=(0.0, 0.0))
        if volts != 0.0:
            point = (1e3 * (at - opening.event.t), 1e-3 * volts)
            notes.append(place_note(axes, point, f"{abs(volts) / 1e3:.3g} kV", palette.PHASES[pole], notes))
    return notes + ([place_remark(axes, beyond, palette.LIMIT, notes)] if beyond else [])


def mark_rise(axes, opening, envelope):
    """The steepest line through the origin, and its slope at the point where it touches."""
    traces = find_steepest(opening, envelope)
    trace = max(traces, key=lambda trace: find_touch(trace, envelope)[2])
    at, volts, rate = find_touch(trace, envelope)
    if 1e6 * at > axes.get_xlim()[1]:
        return []
    colour = palette.PHASES[trace.pole]
    axes.plot([0.0, 1e6 * at], [0.0, 1e-3 * volts], color=colour, linewidth=0.7, linestyle=palette.DASHES[1],
              label="_touching", zorder=2.8, scalex=False, scaley=False)
    return [place_note(axes, (1e6 * at, 1e-3 * volts), f"{1e-9 * rate:.3g} kV/us", colour)]
