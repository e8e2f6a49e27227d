"""Torque against speed: what the motor gave, what the load asked, and the margin between them.

A machine that stalled has no way along the speed axis; its figure shows the torque it had at standstill
over time, against the torque it needed to break away.
"""

from dataclasses import dataclass

import numpy as np

from plots.curves.panels import find_needed, find_reached, fit_torque
from plots.curves.series import (
    expected_speed,
    find_criterion,
    find_end,
    find_motor,
    list_flagged,
    mean_between,
    rated_frequency,
    read,
    read_load,
    switching_moments,
    synchronous_speed,
)
from plots.curves.traces import draw_limit, draw_trace, fit_height
from plots.page.assembly import draw_notice, finish, identify, title_of
from plots.page.flags import write_number
from plots.page.labels import place_note, place_remark
from plots.page.page import add_axes, name_axes, new_figure, palette, wrap
from plots.starts.overview import frame_time, make_flag
from sim.measures.findings import find_feeds
from sim.measures.signals.axis import cycle_mean
from sim.measures.starts.steady import find_torque

HEIGHT = 4.2
HEIGHT_STANDSTILL = 2.8
NOTE_CHARACTERS = 46
CURVE_POINTS = 401
LIVE_PU = 5e-3          # a machine with less voltage than this sees none
WORDS = {"accelerated": "accelerated", "hung": "hung below its speed", "tripped": "was tripped",
         "running": "was still gaining speed or ran from the start", "stalled": "stalled at standstill"}


@dataclass(frozen=True)
class Way:
    """The way of a machine up the speed axis, one-cycle means, shapes (n,).

    Speed in per cent of synchronous, torques in per cent of rated; `driven` tells a drive from a grid.
    """

    speed: np.ndarray
    torque: np.ndarray
    load: np.ndarray
    driven: bool


def draw_torque_speed(run, machine):
    """Figure of one machine.

    Parameters
    ----------
    run : StoredRun
    machine : Record
        A machine of the case.

    Returns
    -------
    figure : Figure
        Of torque against speed, of torque at standstill against time for a stalled machine, or a notice
        when the machine was never energised.
    """
    outcome = find_motor(run, machine.name).get("outcome")
    title, foot = f"{title_of(run)} · torque of {machine.name}", identify(run)
    if find_end(run) is None or any(read(run, machine.name, name) is None for name in ("speed", "torque")):
        return draw_notice(title, "", f"This run holds no speed and torque of {machine.name}.", foot)
    if outcome == "stalled":
        return draw_standstill(run, machine, title)
    way = find_way(run, machine)
    if outcome == "not started" or way is None:
        return draw_notice(title, "", f"{machine.name} saw no voltage: there is no torque to show.", foot)
    return draw_way(run, machine, way, title)


def find_way(run, machine):
    """One-cycle means over the last time the machine was fed; None when it was never fed."""
    feed = find_feeds(run)[machine.node]
    if not feed.spans or len(feed.axis.edges) < 3:
        return None
    signals = (read(run, machine.name, "speed"), read(run, machine.name, "torque"), read_load(run, machine))
    speed, torque, load = (cycle_mean(feed.axis, np.zeros(len(feed.axis.t)) if found is None else found[1])
                           for found in signals)
    start, end, axis = feed.spans[-1].start, find_last(run, machine, feed.spans[-1]), feed.axis
    inside = (axis.starts >= start - 1e-9) & (axis.ends <= end + 1e-9) & np.isfinite(torque)
    if not inside.any():
        return None
    rated = machine.motor.rated_torque_nm
    return Way(100.0 * speed[inside] / synchronous_speed(machine.motor), 100.0 * torque[inside] / rated,
               100.0 * load[inside] / rated, feed.drive is not None)


def find_last(run, machine, span):
    """End of the way: the first operation after the machine was at speed, else the end of its supply. [s]"""
    reached = find_reached(run, machine)
    moments = switching_moments(run) if reached is not None else []
    return min([moment for moment in moments if moment > reached[0][0]] + [span.end])


def draw_way(run, machine, way, title):
    """Motor and load torque against speed, the margin shaded, its worst point marked."""
    figure = new_figure()
    axes = add_axes(figure)
    colour = palette.pick_colours(run.case)[machine.name]
    load = {"color": palette.INK, "linestyle": palette.LOAD_DASH, "label": "load torque"}
    look = {"linewidth": palette.BOLD_LINE, "zorder": 3}
    axes.plot(way.speed, way.torque, color=colour, label="motor torque", **look)
    axes.plot(way.speed, way.load, **load, **look)
    shade_margin(axes, way)
    draw_rated_curve(axes, machine, way)
    fit_height(axes, least=10.0)
    axes.set_xlim(0.0, max(102.0, 1.01 * way.speed.max()))
    base = f"{30.0 / np.pi * synchronous_speed(machine.motor):.0f} rpm"
    name_axes(axes, x=f"Speed [% of synchronous, 100 % = {base}]", y="Torque [% of rated]")
    rated = write_number(machine.motor.rated_torque_nm / 1e3, 2)
    note = f"mean over one cycle of the source; 100 % torque = {rated} kN m"
    finish(figure, [axes], [HEIGHT], [], title, describe(run, machine), (note, identify(run)))
    mark_points(axes, run, machine, way)
    return figure


def draw_rated_curve(axes, machine, way):
    """Steady torque at rated voltage and frequency, for a machine on a grid whose circuit is known."""
    motor = machine.motor
    if getattr(motor, "circuit", None) is None or way.driven:
        return []
    share = np.linspace(0.0, 1.0, CURVE_POINTS)
    return axes.plot(100.0 * share, find_torque(motor, 1.0, 1.0 - share), color=palette.QUIET,
                     linewidth=palette.FINE_LINE, label="steady, at rated voltage", zorder=2)


def shade_margin(axes, way):
    """Shade what is left over for acceleration, and in another colour what is missing."""
    rising = np.flatnonzero(way.speed >= np.maximum.accumulate(way.speed) - 1e-9)
    speed, torque, load = way.speed[rising], way.torque[rising], way.load[rising]
    known = np.isfinite(load)
    return [axes.fill_between(speed, load, torque, where=where & known, color=colour, linewidth=0.0, zorder=1,
                              interpolate=True)
            for where, colour in ((torque >= load, palette.LEFT_OVER), (torque < load, palette.SHORTFALL))]


def describe(run, machine):
    """How the start ended and what was left over, in a sentence."""
    motor = find_motor(run, machine.name)
    least, available = motor.get("min_accelerating_torque_pct"), motor.get("breakaway_torque_available_pct")
    words = [f"{machine.name} {WORDS.get(motor.get('outcome'), 'was not judged')}"]
    if motor.get("trip_reason"):
        words.append(motor["trip_reason"])
    if least is not None:
        words.append(f"least accelerating torque {least:.1f} % of rated")
    if available is not None:
        words.append(f"torque available at standstill {available:.0f} % of breakaway")
    return "; ".join(words)


def mark_points(axes, run, machine, way):
    """Notes at the worst point and at the last one."""
    notes = []
    for note in (mark_worst, mark_breakaway):
        notes += note(axes, run, machine, way, notes)
    last = (float(way.speed[-1]), float(way.torque[-1]))
    rpm = last[0] / 100.0 * synchronous_speed(machine.motor) * 30.0 / np.pi
    return [*notes, place_note(axes, last, f"last: {last[0]:.1f} %, {rpm:.0f} rpm", taken=notes)]


def mark_breakaway(axes, run, machine, way, taken):
    """The torque that the load asks at standstill."""
    needed = find_needed(run, machine)
    if needed is None:
        return []
    share = 100.0 * needed / machine.motor.rated_torque_nm
    return [place_note(axes, (0.0, share), f"breakaway {share:.0f} %", taken=taken, marker="D")]


def mark_worst(axes, run, machine, way, taken):
    """The least accelerating torque as an upright measure between load and motor torque, with its limit."""
    motor, expected = find_motor(run, machine.name), expected_speed(run, machine)
    least, share = motor.get("min_accelerating_torque_pct"), motor.get("min_accelerating_torque_at_pct")
    if least is None or share is None or expected is None:
        return []
    speed = share * expected / synchronous_speed(machine.motor)
    distance = np.abs(way.speed - speed)
    near = (distance <= max(1.0, distance.min())) & np.isfinite(way.load)
    if not near.any():
        return []
    k = np.argmin(np.where(near, way.torque - way.load, np.inf))
    low, high = way.load[k], way.torque[k]
    axes.plot([way.speed[k]] * 2, [low, high], color=palette.LIMIT, linewidth=1.6, marker="_", markersize=8,
              label="_worst", zorder=5, scalex=False, scaley=False)
    text = f"least margin {least:.1f} % at {share:.0f} % of rated speed\n{hold_against(run, machine)}"
    middle = (float(way.speed[k]), float(0.5 * (low + high)))
    return [place_note(axes, middle, text, palette.LIMIT, taken, marker="")]


def hold_against(run, machine):
    """Limit of the accelerating torque in words."""
    row = find_criterion(run, "accelerating_torque", machine.name)
    if row is None or row["level"] == "not assessed":
        reason = row.get("reason") if row else None
        return wrap(f"not judged: {reason}" if reason else "not judged", NOTE_CHARACTERS)
    return f"at least {row['limit']:g} % asked: {row['level']}"


def draw_standstill(run, machine, title):
    """Torque of a stalled machine over time, against its breakaway torque."""
    figure = new_figure()
    axes = add_axes(figure)
    t, torque = read(run, machine.name, "torque")
    share = 100.0 * torque / machine.motor.rated_torque_nm
    draw_trace(axes, run, machine.name, t, share, "motor torque", palette.pick_colours(run.case)[machine.name])
    needed = find_needed(run, machine)
    if needed is not None:
        shade_shortfall(axes, run, machine, t, share, 100.0 * needed / machine.motor.rated_torque_nm)
    fit_torque(axes)
    frame_time([axes], run)
    name_axes(axes, y="Torque [% of rated]")
    flags = [make_flag(event) for event in list_flagged(run.events)]
    finish(figure, [axes], [HEIGHT_STANDSTILL], flags, title, describe(run, machine),
           ("machine at standstill", identify(run)))
    note_shortfall(axes, run, machine, needed)
    return figure


def shade_shortfall(axes, run, machine, t, share, need):
    """Breakaway torque [% of rated] as a limit, and what was missing while there was voltage."""
    draw_limit(axes, need, f"breakaway {need:.0f} %")
    t_mean, mean = mean_between(t, share, rated_frequency(run.case, machine.name), switching_moments(run))
    t_volts, volts = read(run, machine.node, "voltage")
    live = np.interp(t_mean, t_volts, volts) > LIVE_PU * machine.motor.rated_v
    return axes.fill_between(t_mean, mean, need, where=live & (mean < need), color=palette.SHORTFALL,
                             linewidth=0.0, zorder=0.8)


def note_shortfall(axes, run, machine, needed):
    """Say how much torque was there and how much was asked."""
    available = find_motor(run, machine.name).get("breakaway_torque_available_pct")
    if needed is None or available is None:
        return None
    need = 100.0 * needed / machine.motor.rated_torque_nm
    text = f"available at standstill {need * available / 100.0:.0f} % of rated,\nbreakaway asks {need:.0f} %"
    return place_remark(axes, text, palette.LIMIT)
