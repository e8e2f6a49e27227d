"""The start windows of a case in plain numbers, units in the names."""

from typing import Any

import numpy as np

from sim.measures.summary import find_version
from sim.phasors.drive_line import find_boost
from sim.studies.survey.study import clean
from sim.studies.window.limits import find_margins, find_torque_share, name_limits
from sim.studies.window.points import Points, find_flux
from sim.studies.window.search import Setting, stand
from sim.studies.window.study import Window, solve_where
from sim.studies.window.trials import list_sets
from sim.studies.window.voltages import MOST_BOOST, find_torque_voltage

SHOWN_HZ = (0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0)


def describe_windows(case: Any, windows: list[Window]) -> dict[str, Any]:
    """All windows of a case, by drive; a value that was not computed is None."""
    return {"case": case.name, "case_sha256": case.sha256, "stepout_version": find_version(), "title": case.title,
            "overrides": list(case.overrides), "warnings": list(case.warnings),
            "drives": {window.feeder.drive.name: describe_window(window) for window in windows}}


def describe_window(window: Window) -> dict[str, Any]:
    """One window."""
    feeder, limits = window.feeder, window.feeder.limits
    sets = list_sets(feeder.drive, window.best, window.rise)
    return {"has_window": bool(window.intervals), "window_hz": [list(span) for span in window.intervals],
            "recommended" if window.intervals else "nearest": describe_setting(window, window.best, sets),
            "limits": {"torque_to_breakaway": limits.ratio,
                       "drive_current_pct": 100.0 * limits.current / limits.rated_current,
                       "drive_current_basis": limits.current_basis,
                       "flux_pu": {name: float(limit) for name, limit in zip(window.still.paths.names, limits.flux)
                                   if np.isfinite(limit)},
                       "flux_basis": list(dict.fromkeys(basis for basis in limits.flux_basis if basis))},
            "breakaway_nm": {name: float(torque) for name, torque in
                             zip(list_machines(window), limits.breakaway)},
            "at_required_torque": list_rows(window), "openers": window.openers,
            "trials": [describe_trial(window, trial) for trial in window.trials]}


def list_machines(window: Window) -> list[str]:
    """Names of the machines that the drive feeds."""
    paths = window.still.paths
    return [name for name, is_core in zip(paths.names, paths.is_core) if not is_core]


def describe_setting(window: Window, setting: Setting, sets: list[str]) -> dict[str, Any]:
    """A setting with what follows of it; `set` holds the overrides that make it."""
    return {"start_hz": setting.hz, "boost_pct": 100.0 * setting.boost, "voltage_rise_s": window.rise, "set": sets,
            "margins_pct": dict(zip(name_limits(window.still.paths, window.feeder.limits),
                                    (float(100.0 * margin) for margin in setting.margins))),
            **describe_points(window, setting.points, 0)}


def describe_points(window: Window, points: Points, k: int) -> dict[str, Any]:
    """Torque, current, fluxes and voltages of one point."""
    limits, drive, flux = window.feeder.limits, window.feeder.drive, find_flux(points)[k]
    return clean({"torque_to_breakaway": find_torque_share(points, limits)[k],
                  "drive_voltage_pct": 100.0 * points.emf[k] / drive.rated_v,
                  "drive_current_pct": 100.0 * points.current[k] / limits.rated_current}) | {
        "flux_pu": {name: None if np.isnan(value) else float(value)
                    for name, value in zip(window.still.paths.names, flux)}}


def list_rows(window: Window) -> list[dict[str, Any]]:
    """What the required torque takes at some start frequencies; None where no voltage gives it."""
    still = stand(window.feeder, np.array(SHOWN_HZ))
    points = solve_where(still, find_torque_voltage(still, window.feeder.limits, window.feeder.limits.ratio))
    boost = find_boost(window.feeder.line, still.hz, points.emf)
    margins = find_margins(points, window.feeder.limits)
    rows = []
    for k, hz in enumerate(still.hz):
        known = np.isfinite(points.emf[k])
        rows.append({"start_hz": float(hz), "boost_pct": 100.0 * float(boost[k]) if known else None,
                     "within_limits": bool(known and 0.0 <= boost[k] <= MOST_BOOST and
                                           (margins[k, 1:] >= 0.0).all()),
                     **describe_points(window, points, k)})
    return rows


def describe_trial(window: Window, trial: dict) -> dict[str, Any]:
    """What was tried in the time domain, beside what the phasors say of it."""
    told = {key: value for key, value in trial.items() if key not in ("hz", "boost", "points", "margins")}
    expected = describe_points(window, trial["points"], 0)
    return {"start_hz": trial["hz"], "boost_pct": 100.0 * trial["boost"],
            "expected": expected | {"within_limits": bool(trial["margins"].min() >= 0.0)}, **told}
