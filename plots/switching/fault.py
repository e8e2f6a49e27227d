"""A fault: voltages to earth at its place, with the displacement of the neutral, and the currents into it."""

import numpy as np

from plots.curves.phases import draw_phases, in_amperes, in_kilovolts, mark_highest
from plots.curves.traces import fit_both_ways
from plots.page.assembly import finish, identify
from plots.page.decimation import thin
from plots.page.flags import Flag, write_number
from plots.page.page import add_axes, name_axes, new_figure, palette, say_empty
from plots.switching.moments import find_cycle, find_stretch
from sim.measures.voltages.overvoltage import PHASE_EARTH_CREST

HEIGHTS = (2.5, 2.1)
CYCLES_BEFORE, CYCLES_AFTER = 1.5, 8.0
CYCLES_CLEARED = 4.0     # drawn after the fault has gone
LONGEST = 0.4            # [s]
NOTE_ROOM = 0.3
CLEARING = ("fault_cleared", "open", "trip")
FLAGGED = ("open", "trip", "close", "fault", "fault_cleared")


def list_faults(run):
    """Faults that struck within a waveform stretch: (fault, event, stretch)."""
    faults = {fault.name: fault for fault in getattr(run.case, "faults", [])}
    struck = [(faults[event.where], event, find_stretch(run, event)) for event in run.events
              if event.what == "fault" and event.where in faults]
    return [(fault, event, stretch) for fault, event, stretch in struck if stretch is not None]


def draw_fault(run, fault, event, stretch):
    """Figure of one fault.

    Parameters
    ----------
    run : StoredRun
    fault : Record
    event : Event
        Of kind "fault".
    stretch : Stretch
        That holds it.

    Returns
    -------
    figure : Figure
    """
    node = next((node for node in run.case.nodes if node.name == fault.node), None)
    window = find_window(run, event, stretch, find_cycle(run, fault.node, event.t))
    figure = new_figure()
    volts = add_axes(figure)
    amps = add_axes(figure, volts)
    draw_voltages(volts, fault, stretch, window, event.t)
    name_axes(amps, y="Current into the fault [A]")
    if draw_phases(amps, stretch, fault.name, "current", window, event.t):
        fit_both_ways(amps, room=NOTE_ROOM)
    else:
        say_empty(amps, f"This run holds no currents of {fault.name}.")
    volts.tick_params(labelbottom=False)
    volts.set_xlim(*(1e3 * (moment - event.t) for moment in window))
    name_axes(amps, x=f"Time after {event.t:g} s [ms]")
    flags = [make_flag(other, event) for other in run.events
             if other.what in FLAGGED and window[0] <= other.t <= window[1]]
    sentence = describe(run, fault, node, stretch, (event.t, window[1]))
    finish(figure, [volts, amps], HEIGHTS, flags, event.label, sentence,
           ("instantaneous values as stored", identify(run)))
    mark_highest(volts, in_kilovolts)
    mark_highest(amps, in_amperes)
    return figure


def find_window(run, event, stretch, cycle):
    """From some cycles before the fault to some after it, or after it has gone or a breaker has opened. [s]"""
    gone = [other.t for other in run.events if other.what in CLEARING and event.t < other.t < event.t + LONGEST]
    last = gone[-1] + CYCLES_CLEARED * cycle if gone else event.t + CYCLES_AFTER * cycle
    return (min(max(stretch.t[0], event.t - CYCLES_BEFORE * cycle), event.t),
            min(stretch.t[-1], last, event.t + LONGEST))


def draw_voltages(axes, fault, stretch, window, origin):
    """Phases to earth and the neutral at the place of the fault."""
    name_axes(axes, y="Voltage to earth [kV]")
    if not draw_phases(axes, stretch, fault.node, "voltage", window, origin, 1e-3):
        return say_empty(axes, f"This run holds no voltages of {fault.node}.")
    neutral = stretch.signals[fault.node].get("voltage_zero")
    if neutral is not None:
        part = slice(np.searchsorted(stretch.t, window[0]), np.searchsorted(stretch.t, window[1], side="right"))
        axes.plot(*thin(1e3 * (stretch.t[part] - origin), 1e-3 * neutral[part]), color=palette.QUIET,
                  linestyle=palette.DASHES[1], linewidth=1.0, zorder=2.8, label="neutral")
    return fit_both_ways(axes, room=NOTE_ROOM)


def make_flag(other, event):
    """Flag of another event on the axis of the figure [ms]; the fault itself is emphatic."""
    after = 1e3 * (other.t - event.t)
    if other is event:
        return Flag(0.0, "fault", palette.INK, True)
    return Flag(after, f"{other.label}, {write_number(after, 1)} ms")


def describe(run, fault, node, stretch, span):
    """Currents, and the highest voltage the phases reached within a span of time [s], in a sentence."""
    entry = (run.summary.get("faults") or {}).get(fault.name) or {}
    words = []
    if entry.get("peak_current_a") is not None:
        words.append(f"highest current {in_amperes(entry['peak_current_a'])}")
    if entry.get("rms_current_a") is not None:
        words.append(f"{in_amperes(entry['rms_current_a'])} RMS over its last cycle")
    signals, part = stretch.signals.get(fault.node, {}), (stretch.t >= span[0]) & (stretch.t <= span[1])
    phases = [signals[f"voltage_{phase}"][part] for phase in "abc" if f"voltage_{phase}" in signals]
    if phases and part.any():
        peak = max(np.abs(phase).max() for phase in phases)
        share = "" if node is None else f" ({peak / (PHASE_EARTH_CREST * node.nominal_v):.2f} pu)"
        words.append(f"highest voltage to earth at {fault.node} {peak / 1e3:.3g} kV{share}")
    return "; ".join(words)
