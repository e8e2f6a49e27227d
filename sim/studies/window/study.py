"""The start window of a drive: at which start frequency and boost a motor breaks away within all limits.

Current falls with the start frequency while the voltage per hertz rises: the torque of a motor at standstill goes with
the square of its current over the frequency, and what the current loses in the resistances of cable, transformers and
stator has to come on top of the volts per hertz that the motor needs.  Too low a frequency takes the core of the
transformer at the drive beyond its flux, too high a one the drive beyond its current; in between there may be a window.
"""

from collections.abc import Callable
from functools import partial
from typing import Any, NamedTuple

import numpy as np

from sim.errors import CaseError
from sim.network.build import build_network
from sim.phasors.drive_line import find_voltage, read_line
from sim.phasors.nodal import find_fed
from sim.studies.window.limits import Limits, find_limits
from sim.studies.window.openers import list_openers
from sim.studies.window.points import Points, solve_points
from sim.studies.window.search import Feeder, Setting, find_best, find_intervals
from sim.studies.window.standstill import Standstill, close_for_start, stand_still
from sim.studies.window.trials import find_rise, list_sets, list_trials, try_setting
from sim.studies.window.voltages import (
    find_current_voltage,
    find_flux_voltage,
    find_torque_voltage,
)

LOWEST_HZ, HIGHEST_HZ, POINTS = 0.5, 5.0, 81
LEVELS = 61             # voltages of the map
ABOVE = 1.1             # the map ends so far above the highest voltage of interest


class Window(NamedTuple):
    """The start window of one drive, with F start frequencies and L voltages of the map.

    Attributes
    ----------
    feeder : Feeder
    start : float
        When the drive starts. [s]
    still : Standstill
    need, breakaway : Points
        At the voltages for the torque required and for breakaway torque itself; n = F, NaN where no voltage does.
    plain : Points
        Without boost; n = F.
    at_limits : dict
        Name of a limit -> Points at it; n = F, NaN where no voltage reaches it.
    levels : ndarray, shape (L,)
        Voltages of the map, per unit of rated voltage times frequency over rated frequency. [1]
    map : Points
        n = F L, the levels of a frequency side by side.
    best : Setting
        Of the largest smallest margin, within the window if there is one.
    rise : float
        Time over which its voltage has to come up. [s]
    intervals : list of (float, float)
        Frequencies of the window; empty without one. [Hz]
    openers : dict
        See `sim.studies.window.openers`; empty with a window.
    trials : list of dict
        `why`, `hz`, `boost`, `points`, `margins` and what `try_setting` tells of each.
    """

    feeder: Feeder
    start: float
    still: Standstill
    need: Points
    breakaway: Points
    plain: Points
    at_limits: dict
    levels: np.ndarray
    map: Points
    best: Setting
    rise: float
    intervals: list
    openers: dict
    trials: list


def find_windows(case: Any, hz: np.ndarray | None = None, confirm: bool = True,
                 progress: Callable[[float], None] | None = None) -> list[Window]:
    """Start window of every drive that feeds a machine while it holds its start frequency.

    Parameters
    ----------
    case : CheckedCase
    hz : ndarray, shape (F,), optional
        Start frequencies, ascending; 81 from 0.5 to 5 Hz in even ratios by default.
    confirm : bool, optional
        Try the recommended setting and one beyond each kind of limit in the time domain.
    progress : callable, optional
        Called with the share of the trials that is done, 0 to 1.

    Returns
    -------
    windows : list of Window

    Raises
    ------
    CaseError
        When no drive starts a machine that asks for torque at standstill.
    SolveError
        When the cores resonate with the cable, or a cable needs more oscillators than allowed.

    Valid for
    ---------
    Balanced sinusoids, steady state, machines at standstill (torque and current) or turning without load (flux: the
    larger of both counts); cores by the fundamental of what they draw; constants of the case, cables hot or cold as
    given.

    Checked by
    ----------
    tests/studies/test_window.py
    """
    hz = np.geomspace(LOWEST_HZ, HIGHEST_HZ, POINTS) if hz is None else np.asarray(hz, dtype=float)
    feeders = list_feeders(case)
    if not feeders:
        raise CaseError(["no drive feeds a machine while it holds its start frequency. A start window needs a [[drive]]"
                         " and closed breakers up to the machine: close them before or with the drive's start."])
    return [find_window(case, feeder, start, hz, confirm, progress) for feeder, start in feeders]


def list_feeders(case: Any) -> list[tuple[Feeder, float]]:
    """Every drive that feeds machines at its start, and when it starts. [s]"""
    network, feeders = build_network(case), []
    for drive in case.drives:
        row = network.source_names.index(drive.name)
        closed, start = close_for_start(case, network, drive)
        if find_fed(network, row, closed)[network.tables.machines.node].any():
            paths = stand_still(network, row, closed, np.array([LOWEST_HZ])).paths
            limits = find_limits(case, drive, paths, start)
            feeders.append((Feeder(network, row, closed, drive, read_line(drive), limits), start))
    return feeders


def find_window(case: Any, feeder: Feeder, start: float, hz: np.ndarray, confirm: bool,
                progress: Callable[[float], None] | None) -> Window:
    """The start window of one drive."""
    still, limits = stand_still(feeder.network, feeder.row, feeder.closed, hz), feeder.limits
    solve = partial(solve_where, still)
    need = solve(find_torque_voltage(still, limits, limits.ratio))
    at_limits = {name: solve(emf) for name, emf in list_limit_voltages(still, limits).items()}
    levels, points = draw_map(feeder, still, [need, *at_limits.values()])
    best = find_best(feeder, hz)
    has_window = best.margins.min() >= 0.0
    rise = find_rise(feeder, best)
    return Window(feeder, start, still, need, solve(find_torque_voltage(still, limits, 1.0)),
                  solve(find_voltage(feeder.line, hz, 0.0)), at_limits, levels, points, best, rise,
                  find_intervals(feeder, hz, best) if has_window else [],
                  {} if has_window else list_openers(case, feeder, hz),
                  run_trials(case, feeder, start, hz, best, rise, progress) if confirm else [])


def list_limit_voltages(still: Standstill, limits: Limits) -> dict[str, np.ndarray]:
    """Voltage at every limit, by its name; of the flux the winding of a transformer that comes first."""
    found = {"drive current": find_current_voltage(still, limits)}
    for path in np.flatnonzero(np.isfinite(limits.flux)).tolist():
        name = f"flux of {still.paths.names[path].rpartition('.')[0]}"
        emf = find_flux_voltage(still, limits, path)
        found[name] = np.fmin(found[name], emf) if name in found else emf
    return found


def solve_where(still: Standstill, emf: np.ndarray) -> Points:
    """Phasors at a voltage for each frequency, NaN where there is none."""
    known = np.isfinite(emf)
    points = solve_points(still, np.arange(len(emf)), np.where(known, emf, 0.0))
    return Points(*(np.where(known.reshape(-1, *[1] * (values.ndim - 1)), values, np.nan) for values in points))


def draw_map(feeder: Feeder, still: Standstill, lines: list[Points]) -> tuple[np.ndarray, Points]:
    """Levels of voltage per hertz, and phasors of all of them at all frequencies."""
    line = find_voltage(feeder.line, still.hz, 0.0)
    wanted = [points.emf / line for points in lines]
    finite = np.concatenate([share[np.isfinite(share)] for share in wanted])
    levels = np.linspace(0.0, ABOVE * max(finite.max(initial=1.0), 1.0), LEVELS)
    at = np.repeat(np.arange(len(still.hz)), LEVELS)
    return levels, solve_points(still, at, line[at] * np.tile(levels, len(still.hz)))


def run_trials(case: Any, feeder: Feeder, start: float, hz: np.ndarray, best: Setting, rise: float,
               progress: Callable[[float], None] | None) -> list[dict]:
    """Try settings in the time domain, one after the other."""
    trials = list_trials(feeder, hz, best)
    done = []
    for k, (why, setting) in enumerate(trials):
        part = progress and partial(report_part, progress, k, len(trials))
        told = try_setting(case, feeder, setting, list_sets(feeder.drive, setting, rise), start, k > 0, part)
        done.append({"why": why, "hz": setting.hz, "boost": setting.boost, "points": setting.points,
                     "margins": setting.margins} | told)
    return done


def report_part(progress: Callable[[float], None], k: int, count: int, share: float) -> None:
    """Tell the share of all trials from that of one of them."""
    progress((k + share) / count)
