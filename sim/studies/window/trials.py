"""Settings tried in the time domain: does the motor break away, stay, or does the drive trip?

The map is a steady state; a start is not.  The core takes an offset along while the voltage rises, torque pulsates, the
current limit withholds voltage.  A trial is the case itself with another start frequency and boost, cut off once it is
clear whether the motor turns.  The recommended setting is tried with its ramp; a setting beyond a limit is held at its
start frequency, else the ramp would lead away from what is to be tried.

Offset: the flux of a voltage that rises evenly to V cos(w t) within t_r carries an offset of V/(w^2 t_r), the share
1/(w t_r) of its crest (the integral of a ramp times a cosine).
"""

from collections.abc import Callable
from dataclasses import replace
from math import ceil
from typing import Any

import numpy as np

from sim.case import parse_case
from sim.errors import SolveError
from sim.phasors.drive_line import find_boost
from sim.studies.run import run
from sim.studies.window.limits import find_margins, find_torque_share
from sim.studies.window.points import find_flux, solve_points
from sim.studies.window.search import Feeder, Setting, set_drive, stand
from sim.studies.window.standstill import Standstill
from sim.studies.window.voltages import MOST_BOOST, find_range, find_torque_voltage
from sim.units import Record

PATIENCE = 2.0          # after a hold, or after the stall timer where the current limit is met [s]
CLEARLY = 0.2           # by so much of a limit a trial outside the window lies beyond it
SHORT = 0.85            # torque of the trial that is to stay, of breakaway torque
RISE_STEP, LONGEST_RISE = 0.5, 60.0     # [s]
NEAR_LIMIT = 0.95       # of the current limit: from here the drive's ramp slows down


def list_trials(feeder: Feeder, hz: np.ndarray, best: Setting) -> list[tuple[str, Setting]]:
    """What to try, with a reason each: the best setting, and up to two beyond the limits on either side of it.

    With a window these are one with too little torque and one with the torque required but too much current or flux;
    without one they are both sides of the clash.
    """
    still = stand(feeder, hz)
    margins, settings = walk_required(feeder, still)
    if best.margins.min() >= 0.0:
        short = find_short(feeder, best)
        beyond = find_beyond(margins, hz, best.hz)
        outside = [] if beyond is None else [beyond]
        first = [("recommended", best), *([("too little torque", short)] if short else [])]
    else:
        outside, first = find_sides(margins), [("nearest to a window", best)]
    return [*first, *[("the torque required, beyond a limit", settings(k)) for k in outside]]


def walk_required(feeder: Feeder, still: Standstill) -> tuple[np.ndarray, Callable[[int], Setting]]:
    """Margins along the voltages that just give the torque required, NaN where boost does not reach it, and their
    settings."""
    need = find_torque_voltage(still, feeder.limits, feeder.limits.ratio)
    low, high = find_range(feeder.line, still.hz)
    emf = np.clip(np.nan_to_num(need, nan=np.inf), low, high)
    margins = find_margins(solve_points(still, np.arange(len(emf)), emf), feeder.limits)
    margins[~(need <= high)] = np.nan
    boost = find_boost(feeder.line, still.hz, emf)

    def setting(k: int) -> Setting:
        return set_drive(feeder, round(float(still.hz[k]), 2), round(float(boost[k]), 4))
    return margins, setting


def find_beyond(margins: np.ndarray, hz: np.ndarray, best: float) -> int | None:
    """The nearest frequency above the best one at which the current is clearly too much, else below it the flux."""
    flux = margins[:, 2:].min(axis=1, initial=np.inf)
    above, below = (np.flatnonzero(column < -CLEARLY) for column in (margins[:, 1], flux))
    above, below = above[hz[above] > best], below[hz[below] < best]
    return int(above[0]) if len(above) else int(below[-1]) if len(below) else None


def find_sides(margins: np.ndarray) -> list[int]:
    """Where the required torque takes all the current there is, and where it takes all the flux there is."""
    flux = margins[:, 2:].min(axis=1, initial=np.inf)
    sides = [np.where(mine >= 0.0, other, -np.inf) for mine, other in ((margins[:, 1], flux), (flux, margins[:, 1]))]
    return list(dict.fromkeys(int(np.argmax(side)) for side in sides if np.isfinite(side).any()))


def find_short(feeder: Feeder, best: Setting) -> Setting | None:
    """A setting at the best frequency short of breakaway torque; None where the drive gives it without boost."""
    still = stand(feeder, np.array([best.hz]))
    emf = find_torque_voltage(still, feeder.limits, SHORT)
    boost = float(find_boost(feeder.line, still.hz, emf)[0])
    short = set_drive(feeder, best.hz, round(min(max(boost, 0.0), MOST_BOOST), 4))
    return short if find_torque_share(short.points, feeder.limits)[0] < 1.0 else None


def find_rise(feeder: Feeder, setting: Setting) -> float:
    """Time over which the voltage has to come up so that the offset stays within the margin of flux; not less than the
    drive's own, which stays where no time is long enough. [s]"""
    room = float((feeder.limits.flux / find_flux(setting.points)[0]).min()) - 1.0
    needed = 1.0 / (2.0 * np.pi * setting.hz * room) if room > 0.0 else np.inf
    needed = RISE_STEP * ceil(needed / RISE_STEP) if needed <= LONGEST_RISE else 0.0
    return max(needed, feeder.drive.voltage_rise_s)


def list_sets(drive: Any, setting: Setting, rise: float) -> list[str]:
    """Overrides of a setting, with the rise of the voltage [s] and a hold that outlasts it where the case's own is
    shorter."""
    sets = [f"{drive.name}.start_hz={setting.hz:.7g}", f"{drive.name}.boost_pct={100.0 * setting.boost:.7g}"]
    if rise > drive.voltage_rise_s:
        sets.append(f"{drive.name}.voltage_rise_s={rise:g}")
        if drive.hold_s < rise + RISE_STEP:
            sets.append(f"{drive.name}.hold_s={rise + RISE_STEP:g}")
    return sets


def try_setting(case: Any, feeder: Feeder, setting: Setting, sets: list[str], start: float, held: bool = False,
                progress: Callable[[float], None] | None = None) -> dict:
    """Run a case with one setting of a drive.

    Parameters
    ----------
    case : CheckedCase
    feeder : Feeder
    setting : Setting
    sets : list of str
        Its overrides.
    start : float
        When the drive starts. [s]
    held : bool
        Stay at the start frequency.
    progress : callable, optional

    Returns
    -------
    outcome : dict
        `outcome` ("breaks away", "stays at standstill", "stops again", "trips" or "not assessed"), `sentence`, the
        largest `drive_current_pct` of rating, `flux_pu` by transformer, `torque_to_breakaway`, `breakaway_at_s`,
        `breakaway_hz` and the `duration_s` run.
    """
    name = feeder.drive.name
    tried: Any = parse_case(case.text, [*case.overrides, *sets], case.name)
    drive = next(drive for drive in tried.drives if drive.name == name)
    wait = drive.stall_s if setting.margins[1] < 1.0 - NEAR_LIMIT else 0.0
    duration = start + (drive.voltage_rise_s if held else max(drive.voltage_rise_s, drive.hold_s)) + wait + PATIENCE
    if held:
        sets = [*(item for item in sets if ".hold_s=" not in item), f"{name}.hold_s={duration - start:g}"]
        tried = parse_case(case.text, [*case.overrides, *sets], case.name)
    tried = cut_short(tried, duration)
    head = {"set": sets, "duration_s": tried.study.duration_s}
    try:
        result, summary = run(tried, None, progress)
    except SolveError as stop:
        return head | {"outcome": "not assessed", "sentence": str(stop)}
    return head | describe_run(result, summary, drive)


def cut_short(case: Any, duration: float) -> Any:
    """The case up to a moment, with the events and faults until then. [s]"""
    duration = min(duration, case.study.duration_s)
    return replace(case, study=Record(**vars(case.study) | {"duration_s": duration}),
                   events=[event for event in case.events if event.at_s <= duration],
                   faults=[fault if fault.clear_s is None or fault.clear_s <= duration
                           else Record(**vars(fault) | {"clear_s": None})
                           for fault in case.faults if fault.at_s <= duration])


def describe_run(result: Any, summary: dict, drive: Any) -> dict:
    """What became of the machines, of current and flux."""
    rows = {(row["id"], row["where"]): row for row in summary["criteria"]}
    flux = {unit.name: rows[key]["value"] for unit in result.case.transformers
            if (key := ("flux_starting", unit.name)) in rows and rows[key]["value"] is not None}
    moved = next((mark for mark in result.events if mark.what == "breakaway"), None)
    outcome, sentence = name_outcome(result, drive)
    ratios = [motor["breakaway_torque_available_pct"] for motor in summary["motors"].values()
              if motor["breakaway_torque_available_pct"] is not None]
    return {"outcome": outcome, "sentence": sentence,
            "drive_current_pct": rows[("drive_current", drive.name)]["value"], "flux_pu": flux,
            "torque_to_breakaway": 0.01 * min(ratios) if ratios else None,
            "breakaway_at_s": moved and moved.t, "breakaway_hz": moved and read_frequency(result, drive, moved.t)}


def read_frequency(result: Any, drive: Any, when: float) -> float:
    """Output frequency of a drive at a moment [s]. [Hz]"""
    stretch = next(piece for piece in result.stretches if piece.t[-1] >= when)
    return float(np.interp(when, stretch.t, stretch.signals[drive.name]["frequency"]))


def name_outcome(result: Any, drive: Any) -> tuple[str, str]:
    """Outcome and what it was, in a sentence; the machine that fared worst decides."""
    trip = next((mark for mark in result.events if mark.what == "trip"), None)
    if trip is not None:
        return "trips", trip.label
    still = [name for name, machine in result.machines.items() if machine.energised and not machine.ever_moved]
    stopped = [name for name, machine in result.machines.items() if machine.ever_moved and machine.locked]
    if still:
        return "stays at standstill", f"{', '.join(still)} never turned{tell_limit(result, drive)}"
    if stopped:
        return "stops again", f"{', '.join(stopped)} turned and stopped again{tell_limit(result, drive)}"
    return "breaks away", "turning and gaining speed" if is_gaining(result) else "turning"


def tell_limit(result: Any, drive: Any) -> str:
    """Says so when the drive was at its current limit at the end."""
    trim = result.stretches[-1].signals[drive.name]["limit_trim"]
    return "; the drive was at its current limit" if trim[-1] > 0.0 else ""


def is_gaining(result: Any) -> bool:
    """Whether every machine that turns was faster at the end of the run than at the half of its last stretch."""
    last = result.stretches[-1]
    speeds = [last.signals[name]["speed"] for name, machine in result.machines.items() if machine.ever_moved]
    return all(speed[-1] > speed[len(speed) // 2] for speed in speeds)
