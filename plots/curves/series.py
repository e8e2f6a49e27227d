"""Signals of a run as the figures need them: whole run, in per cent of a rating, mean over a cycle."""

from dataclasses import replace

import numpy as np

from sim.measures.signals.axis import cut_evenly, cycle_mean, find_source
from sim.measures.supply import list_moves

SUDDEN = ("open", "close", "start", "stop", "trip", "load", "fault", "fault_cleared")
LOWEST_CYCLES = 2.0
NEAR_ZERO = 1e-3         # share of the run within which a first sample counts as taken at its start
STANDSTILL_PU = 2e-3     # share of synchronous speed below which a load has no torque of its own


def read(run, owner, quantity):
    """A signal over the whole run.

    Returns
    -------
    t, y : ndarray, shape (n,)
        Time [s] and the signal in SI; None when the run does not hold it.
    """
    try:
        found = run.signal(owner, quantity)
    except LookupError:
        return None
    if found is None or not len(found[0]) or not np.isfinite(found[1]).any():
        return None
    return found


def read_load(run, machine):
    """Load torque while the shaft turns, NaN at standstill, where friction holds what it is asked to hold.

    Returns
    -------
    t, torque : ndarray, shape (n,)
        [s], [N m]; None when the run does not hold it.
    """
    found, speed = read(run, machine.name, "load_torque"), read(run, machine.name, "speed")
    if found is None or speed is None:
        return found
    turning = np.abs(speed[1]) > STANDSTILL_PU * synchronous_speed(machine.motor)
    return found[0], np.where(turning, found[1], np.nan)


def find_end(run):
    """Start and end of what was computed; None for a run without samples. [s]"""
    stretches = [stretch for stretch in run.stretches if len(stretch.t)]
    return (float(stretches[0].t[0]), float(stretches[-1].t[-1])) if stretches else None


def find_planned_end(run):
    """End the case asked for; where the run ended if the case does not say. [s]"""
    first, last = find_end(run)
    first = 0.0 if 0.0 <= first < NEAR_ZERO * last else first
    planned = getattr(getattr(run.case, "study", None), "duration_s", None)
    return first, max(last, planned or last)


def find_sampling(run):
    """Widest of the last few steps between samples. [s]"""
    last = [stretch.t for stretch in run.stretches if len(stretch.t)][-1]
    return float(np.diff(last[-10:]).max(initial=0.0))


def waveform_spans(run):
    """Times that the waveform engine carried: list of (start, end). [s]"""
    return [(float(stretch.t[0]), float(stretch.t[-1])) for stretch in run.stretches
            if stretch.engine == "waveform" and len(stretch.t)]


def switching_moments(run):
    """Times at which a breaker, a drive or a load was operated, or a fault came or went. [s]

    A breaker closes with its last pole, which may be later than the order.
    """
    return [event.t for event in list_moves(run.events) if event.what in SUDDEN]


def list_flagged(events):
    """Events of whole components in the order of the log: single poles are left out, but the last to be bypassed."""
    flagged = []
    for event in events:
        if event.what == "bypass":
            last = next((one for one in reversed(flagged) if one.where == event.where), None)
            flagged = [one for one in flagged if one is not last or one.what != "bypass"]
            flagged.append(replace(event, label=f"{event.where} is bypassed", phase=""))
        elif not event.phase:
            flagged.append(event)
    return flagged


def find_nodes(case, owner):
    """Names of the nodes at a component, of a node that one itself."""
    owners = [*case.machines, *case.drives, *case.grids, *case.breakers, *case.cables, *case.transformers]
    return [getattr(one, end) for one in owners if one.name == owner
            for end in ("from_node", "to_node", "node") if hasattr(one, end)] or [owner]


def rated_frequency(case, owner):
    """Rated frequency of the island on which a component or a node is. [Hz]"""
    return find_source(case, find_nodes(case, owner)[0])[1]


def mean_over_cycle(t, y, frequency):
    """Running mean over one cycle of a fixed frequency, refreshed each half cycle.

    Parameters
    ----------
    t, y : ndarray, shape (n,)
        Time [s] and any signal.
    frequency : float
        Rated frequency. [Hz]

    Returns
    -------
    t, y : ndarray, shape (k,)
        Middle of each window [s] and the mean, the first and the last held to the ends of the signal; the
        signal itself when it is shorter than two cycles.
    """
    if t[-1] - t[0] < LOWEST_CYCLES / frequency:
        return t, y
    axis = cut_evenly(t, 1.0 / frequency)
    mean = cycle_mean(axis, y)
    middles = 0.5 * (axis.starts + axis.ends)
    return (np.concatenate([t[:1], middles, t[-1:]]), np.concatenate([mean[:1], mean, mean[-1:]]))


def mean_between(t, y, frequency, moments):
    """The same between moments at which the signal may jump, so that a jump stays where it is.

    Parameters
    ----------
    moments : iterable of float
        Times of switching. [s]
    """
    cuts = [0, *np.unique(np.searchsorted(t, sorted(moments), side="right")), len(t)]
    pieces = [mean_over_cycle(t[start:end], y[start:end], frequency)
              for start, end in zip(cuts, cuts[1:]) if end > start]
    return tuple(np.concatenate(parts) for parts in zip(*pieces))


def keep_within(t, y, spans):
    """The signal within some spans of time, NaN outside, shape (n,)."""
    inside = np.zeros(len(t), bool)
    for start, end in spans:
        inside[np.searchsorted(t, start):np.searchsorted(t, end, side="right")] = True
    return np.where(inside, y, np.nan)


def rated_current(drive):
    """Rated RMS current of a drive. [A]"""
    return drive.rated_va / (np.sqrt(3.0) * drive.rated_v)


def synchronous_speed(motor):
    """Synchronous speed at rated frequency. [rad/s]"""
    return 4.0 * np.pi * motor.frequency_hz / motor.poles


def expected_speed(run, machine):
    """Speed at which the summary sees the machine at 100 %; None when the summary does not say. [rad/s]"""
    motor = find_motor(run, machine.name)
    rpm, pct = motor.get("final_speed_rpm"), motor.get("final_speed_pct")
    return rpm * np.pi / 30.0 * 100.0 / pct if rpm and pct else None


def find_motor(run, name):
    """The summary's entry of a machine, empty when there is none."""
    return (run.summary.get("motors") or {}).get(name) or {}


def find_criterion(run, id, where):
    """Judged row of a criterion at one place; None when there is none."""
    rows = run.summary.get("criteria") or []
    return next((row for row in rows if row["id"] == id and row["where"] == where), None)


def find_limit(run, id, where):
    """Limit of a criterion that was assessed at a place; None when it was not or has no limit."""
    return list_limits(run, id).get(where)


def list_limits(run, id):
    """Place -> limit of a criterion wherever it was assessed and has one."""
    rows = run.summary.get("criteria") or []
    return {row["where"]: row["limit"] for row in rows
            if row["id"] == id and row["level"] != "not assessed" and row["limit"] is not None}
