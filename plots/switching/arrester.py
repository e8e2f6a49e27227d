"""Duty of a surge arrester: voltage, current and energy of its phases while it conducts."""

import numpy as np

from plots.curves.phases import draw_phases, in_amperes, in_kilovolts, mark_highest
from plots.curves.series import find_criterion
from plots.curves.traces import draw_limit, fit_both_ways, fit_height
from plots.page.assembly import finish, identify
from plots.page.decimation import thin
from plots.page.flags import Flag, write_number
from plots.page.labels import place_remark
from plots.page.page import add_axes, name_axes, new_figure, palette
from plots.switching.moments import PHASES, find_cycle

HEIGHTS = (2.1, 1.7, 1.5)
WORTH_AMPS = 1.0         # a smaller current is no conduction worth a figure
CONDUCTING = 0.01        # share of the highest current above which it counts as conducting
CYCLES_AROUND, CYCLES_PAUSED = 1.0, 3.0
LONGEST = 0.3            # [s]
FAR = 1.5                # an energy rating beyond so many times the energy is named, not drawn
NOTE_ROOM = 0.3
FLAGGED = ("open", "close", "trip", "stop", "fault", "fault_cleared")


def find_conduction(run, arrester):
    """The waveform stretch with the highest current of an arrester; None when it never conducted to speak of."""
    entry = (run.summary.get("arresters") or {}).get(arrester.name) or {}
    if (entry.get("peak_current_a") or 0.0) < WORTH_AMPS:
        return None
    held = [stretch for stretch in run.stretches if highest_current(stretch, arrester) > 0.0]
    return max(held, key=lambda stretch: highest_current(stretch, arrester), default=None)


def highest_current(stretch, arrester):
    """Largest current of any phase within a stretch, 0 without one. [A]"""
    signals = stretch.signals.get(arrester.name, {})
    return max((float(np.abs(signals[f"current_{phase}"]).max(initial=0.0)) for phase in PHASES
                if f"current_{phase}" in signals), default=0.0)


def draw_arrester(run, arrester, stretch):
    """Figure of one arrester.

    Parameters
    ----------
    run : StoredRun
    arrester : Record
    stretch : Stretch
        From `find_conduction`.

    Returns
    -------
    figure : Figure
        Energy is the integral of the stored samples; the sentence gives that of all solver steps.
    """
    window = find_window(run, arrester, stretch)
    origin = window[0]
    figure = new_figure()
    volts = add_axes(figure)
    amps, energy = add_axes(figure, volts), add_axes(figure, volts)
    draw_volts(volts, arrester, stretch, window)
    name_axes(amps, y="Current [A]")
    draw_phases(amps, stretch, arrester.name, "current", window, origin)
    fit_both_ways(amps, room=NOTE_ROOM)
    beyond = draw_energy(energy, arrester, stretch, window)
    for axes in (volts, amps):
        axes.tick_params(labelbottom=False)
    volts.set_xlim(0.0, 1e3 * (window[1] - origin))
    name_axes(energy, x=f"Time after {write_number(origin, 4)} s [ms]")
    flags = [Flag(1e3 * (event.t - origin), event.label) for event in run.events
             if event.what in FLAGGED and window[0] <= event.t <= window[1]]
    finish(figure, [volts, amps, energy], HEIGHTS, flags, f"{arrester.name}: arrester duty", describe(run, arrester),
           ("instantaneous values as stored", identify(run)))
    mark_highest(volts, in_kilovolts)
    mark_highest(amps, in_amperes)
    if beyond:
        place_remark(energy, beyond, palette.LIMIT)
    return figure


def find_window(run, arrester, stretch):
    """From a cycle before to a cycle after the conduction that holds the highest current. [s]

    A pause of some cycles ends a conduction.
    """
    signals = stretch.signals[arrester.name]
    size = np.abs([signals[f"current_{phase}"] for phase in PHASES]).max(axis=0)
    at = stretch.t[size.argmax()]
    cycle = find_cycle(run, arrester.node, at)
    conducting = stretch.t[size > CONDUCTING * size.max()]
    pieces = np.split(conducting, np.flatnonzero(np.diff(conducting) > CYCLES_PAUSED * cycle) + 1)
    piece = next(piece for piece in pieces if piece[0] <= at <= piece[-1])
    first = max(stretch.t[0], piece[0] - CYCLES_AROUND * cycle)
    return first, min(stretch.t[-1], piece[-1] + CYCLES_AROUND * cycle, first + LONGEST)


def draw_volts(axes, arrester, stretch, window):
    """Voltage across each phase, with the crest of what it stands for ever."""
    name_axes(axes, y="Voltage to earth [kV]")
    draw_phases(axes, stretch, arrester.node, "voltage", window, window[0], 1e-3)
    continuous = getattr(arrester, "continuous_v", None)
    if continuous is not None:
        crest = 1e-3 * np.sqrt(2.0) * continuous
        draw_limit(axes, crest, f"continuous voltage\n{continuous / 1e3:.3g} kV: {crest:.3g} kV crest")
        draw_limit(axes, -crest, "_continuous below")
    fit_both_ways(axes, room=NOTE_ROOM)


def draw_energy(axes, arrester, stretch, window):
    """Energy that each phase has taken since the start of the window, with the rating when it is near.

    Returns the words for a rating beyond the scale or not known, None when it is drawn.
    """
    name_axes(axes, y="Energy [kJ]")
    highest = 0.0
    for phase in PHASES:
        t, energy = integrate_energy(stretch, arrester, phase, window)
        highest = max(highest, energy[-1])
        axes.plot(*thin(1e3 * (t - window[0]), 1e-3 * energy), color=palette.PHASES[phase], linewidth=1.1, zorder=3,
                  label=f"phase {phase}: {energy[-1] / 1e3:.3g} kJ")
    rating = getattr(arrester, "energy_j", None)
    if rating is not None and rating <= FAR * highest:
        draw_limit(axes, 1e-3 * rating, f"rating {rating / 1e3:.3g} kJ")
    fit_height(axes)
    if rating is None:
        return "no energy rating given"
    return None if rating <= FAR * highest else f"beyond this scale: rating {rating / 1e3:.3g} kJ"


def integrate_energy(stretch, arrester, phase, window):
    """Time [s] and energy [J] of one phase since the start of the window, by the trapezium rule, shapes (n,)."""
    part = slice(np.searchsorted(stretch.t, window[0]), np.searchsorted(stretch.t, window[1], side="right"))
    t = stretch.t[part]
    power = (stretch.signals[arrester.node][f"voltage_{phase}"]
             * stretch.signals[arrester.name][f"current_{phase}"])[part]
    return t, np.concatenate([[0.0], np.cumsum(0.5 * (power[1:] + power[:-1]) * np.diff(t))])


def describe(run, arrester):
    """Energy, current and voltage in a sentence."""
    entry = run.summary["arresters"][arrester.name]
    row = find_criterion(run, "arrester_energy", arrester.name) or {}
    share = "" if entry.get("energy_pct") is None else f", {entry['energy_pct']:.2g} % of its rating"
    unsure = f" (not assessed: {row['reason']})" if row.get("level") == "not assessed" and row.get("reason") else ""
    return (f"most loaded phase takes {entry['energy_kj']:.3g} kJ over the run{share}{unsure}; highest current "
            f"{in_amperes(entry['peak_current_a'])}, highest voltage {entry['peak_voltage_kv']:.3g} kV")
