"""The panels of a start on a time axis: voltage, current, speed and torque.

Each takes axes and a run and returns the artists it drew; names for direct labels are the lines' own.
"""

import numpy as np

from plots.curves.series import (
    expected_speed,
    find_motor,
    list_limits,
    rated_current,
    read,
    read_load,
    synchronous_speed,
)
from plots.curves.traces import draw_limit, draw_trace, find_range, fit_height
from plots.page.flags import write_number
from plots.page.page import name_axes, palette, say_empty
from sim.measures.signals.axis import find_source
from sim.measures.starts.torque import find_breakaway, find_multiplier

NEAR_RATED = 0.9          # share of rated frequency above which a sag limit applies
CLIP = 2.5                # ripple beyond so many times the mean's range leaves the scale
TO_RPM = 30.0 / np.pi


def draw_voltages(axes, run):
    """Voltage of every node in per cent of its nominal voltage, with the limits in force."""
    name_axes(axes, y="Voltage [% of nominal]")
    colours, artists, unnamed = palette.pick_colours(run.case), [], 0
    for node in run.case.nodes:
        found = read(run, node.name, "voltage")
        if found is None:
            continue
        name = mute(f"{node.name} ({node.nominal_v / 1e3:g} kV)", colours[node.name])
        unnamed += colours[node.name] == palette.QUIET
        share = 100.0 * found[1] / node.nominal_v
        artists += draw_trace(axes, run, node.name, found[0], share, name, colours[node.name])
    if not artists:
        return [say_empty(axes, "This run holds no node voltages.")]
    if unnamed:
        artists[-1].set_label(f"grey: {unnamed} more nodes")
    artists += draw_voltage_limits(axes, run)
    fit_height(axes)
    return artists


def draw_voltage_limits(axes, run):
    """Least bus and motor voltage; the temporary overvoltage limit once a voltage comes near it."""
    highest = find_range(axes)[1]
    artists = [*draw_bus_limits(axes, run), *draw_motor_limits(axes, run)]
    for limit in sorted(set(list_limits(run, "temporary_overvoltage").values())):
        if highest > 85.0 * limit:
            artists += draw_limit(axes, 100.0 * limit, f"one-cycle limit {100 * limit:g} %")
    return artists


def draw_bus_limits(axes, run):
    """Least bus voltage: behind a drive only while that drive is near rated frequency."""
    held = {(limit, find_source(run.case, node)) for node, limit in list_limits(run, "bus_voltage").items()}
    artists = []
    for limit in sorted({limit for limit, _ in held}):
        sources = sorted(((source, rated) for level, (source, rated) in held if level == limit and source), key=str)
        whole = len(sources) < sum(level == limit for level, _ in held)
        for k, when in enumerate([(None, None)] if whole else [when_near_rated(run, *one) for one in sources]):
            artists += draw_limit(axes, limit, f"{'_' * (k > 0)}bus limit {limit:g} %", *when)
    return artists


def when_near_rated(run, source, rated):
    """Time and whether a source is near its rated frequency [Hz]; nothing where the run does not tell."""
    found = read(run, source, "frequency")
    return (None, None) if found is None else (found[0], found[1] >= NEAR_RATED * rated)


def draw_motor_limits(axes, run):
    """Least voltage at the motors, each against the nominal voltage of its node."""
    nominal, limits = {node.name: node.nominal_v for node in run.case.nodes}, list_limits(run, "motor_voltage")
    levels = {limits[machine.name] * machine.motor.rated_v / nominal[machine.node]: limits[machine.name]
              for machine in run.case.machines if machine.name in limits}
    return [line for level, limit in sorted(levels.items())
            for line in draw_limit(axes, level, f"motor limit {limit:g} %")]


def draw_currents(axes, run):
    """Currents of machines, drives and rated cables in per cent of their ratings, with the drive limit.

    Without any rating, the cables' currents in ampere.
    """
    colours = palette.pick_colours(run.case)
    artists = [line for owner, rated in list_rated(run)
               for line in draw_rated_current(axes, run, owner, rated, colours.get(owner, palette.QUIET))]
    if not artists:
        return draw_bare_currents(axes, run)
    name_axes(axes, y="Current [% of rating]")
    for limit, names in group_limits(run).items():
        artists += draw_limit(axes, limit, f"{names} limit {limit:g} %")
    fit_height(axes)
    return artists


def list_rated(run):
    """Names and rated currents [A] of what has a rated current."""
    rated = [(machine.name, machine.motor.rated_current_a) for machine in run.case.machines]
    rated += [(drive.name, rated_current(drive)) for drive in run.case.drives]
    return rated


def group_limits(run):
    """Current limit of the drives [%] -> their names."""
    limits = {}
    for drive in run.case.drives:
        limit = getattr(drive, "current_limit_pu", None)
        if limit is not None:
            limits.setdefault(round(100.0 * limit, 6), []).append(drive.name)
    return {limit: names[0] if len(names) == 1 else "drive" for limit, names in limits.items()}


def draw_rated_current(axes, run, owner, rated, colour):
    """One current in per cent of its rating."""
    found = read(run, owner, "current")
    if found is None:
        return []
    name = mute(f"{owner} (100 % = {rated:.0f} A)", colour)
    return draw_trace(axes, run, owner, found[0], 100.0 * found[1] / rated, name, colour)


def mute(name, colour):
    """The name of a line for its label; grey lines, those beyond the palette, go without."""
    return f"_{name}" if colour == palette.QUIET else name


def draw_bare_currents(axes, run):
    """Currents of cables and grids in ampere, for a case without machines and drives."""
    name_axes(axes, y="Current [A RMS]")
    wanted = [(grid.name, "current", grid.name) for grid in run.case.grids]
    wanted += [(cable.name, "current_from", f"{cable.name}, from end") for cable in run.case.cables]
    artists = []
    for colour, (owner, quantity, name) in zip(palette.LINES, wanted):
        found = read(run, owner, quantity)
        if found is not None:
            artists += draw_trace(axes, run, owner, *found, name, colour)
    if not artists:
        return [say_empty(axes, "This run holds no currents.")]
    fit_height(axes)
    return artists


def draw_speeds(axes, run):
    """Speed of every machine in per cent of synchronous, drive frequency in per cent of rated."""
    name_axes(axes, y="Speed, frequency [%]")
    colours, artists = palette.pick_colours(run.case), []
    for drive in run.case.drives:
        found = read(run, drive.name, "frequency")
        if found is not None:
            name = f"{drive.name} {write_number(found[1][-1], 1)} of {drive.frequency_hz:g} Hz"
            artists += draw_trace(axes, run, drive.name, found[0], 100.0 * found[1] / drive.frequency_hz, name,
                                  colours[drive.name], palette.DASHES[2], ripple=False)
    for machine in run.case.machines:
        artists += draw_speed(axes, run, machine, colours[machine.name])
    if not artists:
        return [say_empty(axes, "This run holds no speeds.")]
    fit_height(axes, least=100.0)
    return artists


def draw_speed(axes, run, machine, colour):
    """Speed of one machine over time."""
    found = read(run, machine.name, "speed")
    if found is None:
        return []
    t, speed = found
    share = 100.0 * speed / synchronous_speed(machine.motor)
    base = TO_RPM * synchronous_speed(machine.motor)
    name = f"{machine.name} {TO_RPM * speed[-1]:.0f} of {base:.0f} rpm"
    return draw_trace(axes, run, machine.name, t, share, mute(name, colour), colour, ripple=False)


def find_reached(run, machine):
    """When and at what share of synchronous speed [s, %] a machine was up to speed, and the words for it.

    None when it was not, or when the summary does not say.
    """
    taken, expected = find_motor(run, machine.name).get("time_to_speed_s"), expected_speed(run, machine)
    found = read(run, machine.name, "speed")
    if taken is None or expected is None or found is None:
        return None
    rpm = find_motor(run, machine.name).get("at_speed_rpm")         # older run files do not tell it
    up = np.flatnonzero(found[1] >= (0.95 * expected if rpm is None else rpm * np.pi / 30.0))
    if not len(up):
        return None
    share = 100.0 * found[1][up[0]] / synchronous_speed(machine.motor)
    who = f"{machine.name} " if len(run.case.machines) > 1 else ""
    words = f"{who}95 % of rated speed {write_number(taken, 2)} s after first voltage"
    return (float(found[0][up[0]]), float(share)), words


def draw_torques(axes, run):
    """Air-gap torque (full line) and torque asked by the load (broken) in per cent of rated torque.

    Torque pulsates far beyond its mean when a machine is switched on; such ripple may leave the scale, and
    the panel then says how far it went.
    """
    name_axes(axes, y="Torque [% of rated]")
    colours, artists = palette.pick_colours(run.case), []
    several = len(run.case.machines) > 1
    for machine in run.case.machines:
        artists += draw_torque(axes, run, machine, colours[machine.name], several)
    if not artists:
        return [say_empty(axes, "No machine in this case, or none with a torque: nothing to show.")]
    artists += [line for machine in run.case.machines for line in draw_breakaway(axes, run, machine)]
    fit_torque(axes)
    return artists


def fit_torque(axes):
    """Height of a torque panel: ripple that dwarfs the mean may leave the scale."""
    means, whole = find_range(axes, ripple=False), find_range(axes)
    clipped = whole is not None and whole[1] - whole[0] > CLIP * max(means[1] - min(means[0], 0.0), 10.0)
    fit_height(axes, ripple=not clipped, least=10.0)


def draw_torque(axes, run, machine, colour, several):
    """Motor and load torque of one machine."""
    artists = []
    for quantity, word, style in (("torque", "motor", "-"), ("load_torque", "load", palette.LOAD_DASH)):
        found = read_load(run, machine) if word == "load" else read(run, machine.name, quantity)
        if found is not None and np.isfinite(found[1]).any():
            name = f"{machine.name} {word}" if several else f"{word} torque"
            ink = colour if several or quantity == "torque" else palette.INK
            share = 100.0 * found[1] / machine.motor.rated_torque_nm
            artists += draw_trace(axes, run, machine.name, found[0], share, mute(name, ink), ink, style)
    return artists


def draw_breakaway(axes, run, machine):
    """Torque that a stalled machine would have needed to break away; nothing for any other machine."""
    needed = find_needed(run, machine)
    if needed is None or find_motor(run, machine.name).get("outcome") != "stalled":
        return []
    share = 100.0 * needed / machine.motor.rated_torque_nm
    return draw_limit(axes, share, f"{machine.name} breakaway {share:.0f} %")


def find_needed(run, machine):
    """Breakaway torque of a machine at its first voltage; None when its load asks none. [N m]"""
    found = read(run, machine.node, "voltage")
    live = np.flatnonzero(found[1] > 0.0) if found is not None else []
    return find_breakaway(machine, find_multiplier(run, machine, float(found[0][live[0]]))) if len(live) else None


def describe_clipped(axes):
    """Words for ripple that leaves the scale, None when all of it is inside."""
    whole, (low, high) = find_range(axes), axes.get_ylim()
    if whole is None or (whole[0] >= low and whole[1] <= high):
        return None
    lowest, highest = (write_number(value, 0) for value in whole)
    return f"pulsation within a cycle beyond this scale: {lowest} % to {highest} %"
