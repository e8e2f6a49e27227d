"""What a start has to respect: breakaway torque, the drive's current, the flux of every transformer winding.

A margin is counted as in a verdict (`sim.measures.verdict.criteria`): the share of the way from the normal value to
the limit that is left, of the required torque itself where there is no normal value; negative beyond the limit.
"""

from typing import Any, NamedTuple

import numpy as np

from sim.errors import CaseError
from sim.measures.starts.torque import find_breakaway
from sim.measures.verdict.criteria import CRITERIA, find_limit
from sim.phasors.reduction import Paths
from sim.studies.window.points import Points, find_flux

TORQUE, CURRENT = "torque", "drive current"
OWN = "criteria.start_flux_max_pu"


class Limits(NamedTuple):
    """Limits of one drive's start, with A machines and P paths.

    Attributes
    ----------
    ratio : float
        Torque required over breakaway torque. [1]
    breakaway : ndarray, shape (A,)
        0 of a machine that asks nothing at standstill. [N m]
    current : float
        [A]
    rated_current : float
        Of the drive. [A]
    flux : ndarray, shape (P,)
        Per unit of rated flux; infinite where there is no limit. [1]
    current_basis : str
        Key the current's limit comes from.
    flux_basis : tuple of str
        Likewise of each path, empty without a limit.
    """

    ratio: float
    breakaway: np.ndarray
    current: float
    rated_current: float
    flux: np.ndarray
    current_basis: str
    flux_basis: tuple


def find_limits(case: Any, drive: Any, paths: Paths, when: float) -> Limits:
    """Limits of a drive's start at a moment [s].

    Raises
    ------
    CaseError
        When no machine that the drive feeds asks for torque at standstill.
    """
    machines = {machine.name: machine for machine in case.machines}
    fed = [machines[name] for name, is_core in zip(paths.names, paths.is_core) if not is_core]
    breakaway = np.array([find_breakaway(machine, ask_multiplier(case, machine, when)) or 0.0 for machine in fed])
    if not breakaway.any():
        raise CaseError([f"{drive.name}: feeds no machine that asks for torque at standstill while it holds its start "
                         "frequency. A start window needs one: give load.breakaway_pct and close the breakers up to "
                         "the machine before or with the drive's start."])
    rated = drive.rated_va / (np.sqrt(3.0) * drive.rated_v)
    share, basis = find_current_limit(case, drive)
    flux, bases = zip(*(find_flux_limit(case, name) for name in paths.names))
    ratio = find_limit(case.criteria, "breakaway_ratio_min") or 0.0
    return Limits(ratio, breakaway, share * rated, rated, np.array(flux), basis, bases)


def ask_multiplier(case: Any, machine: Any, when: float) -> float:
    """Multiplier of a load at a moment [s], as the case orders its steps up to then. [1]"""
    steps = [event for event in case.events
             if event.action == "load" and event.target == machine.name and event.at_s <= when]
    return max(steps, key=lambda event: event.at_s).load_pu if steps else machine.load.load_pu


def find_current_limit(case: Any, drive: Any) -> tuple[float, str]:
    """Limit per unit of rating and the key it comes from: the drive's own, or a criterion that the case gives."""
    given = 0.01 * (find_limit(case.criteria, "drive_current_max_pct") or np.inf)
    if case.used["criteria.drive_current_max_pct"]["origin"] == "given" and given < drive.current_limit_pu:
        return given, "criteria.drive_current_max_pct"
    return drive.current_limit_pu, f"{drive.name}.current_limit_pct"


def find_flux_limit(case: Any, path: str) -> tuple[float, str]:
    """Limit of a path and the key it comes from: what the criteria say, else the knee of the core itself."""
    owner, _, end = path.rpartition(".")
    found = next((unit for unit in case.transformers if unit.name == owner), None)
    if found is None or not end:
        return np.inf, ""
    given = find_limit(case.criteria, "start_flux_max_pu")
    return (found.knee_pu, f"{owner}.knee_pu") if given is None else (given, OWN)


def name_limits(paths: Paths, limits: Limits) -> list[str]:
    """Names of all limits, in the order of `find_margins`."""
    return [TORQUE, CURRENT, *(f"flux of {paths.names[k]}" for k in np.flatnonzero(np.isfinite(limits.flux)))]


def find_margins(points: Points, limits: Limits) -> np.ndarray:
    """Margin to every limit, shape (n, limits). [1]"""
    torque = find_torque_share(points, limits) / limits.ratio - 1.0 if limits.ratio > 0.0 else np.inf
    current = 1.0 - points.current / limits.current
    bounded = np.isfinite(limits.flux)
    most = limits.flux[bounded]
    normal = CRITERIA["flux_starting"].normal
    room = np.where(most > normal, most - normal, most)
    flux = (most - find_flux(points)[:, bounded]) / room
    return np.column_stack([np.broadcast_to(torque, current.shape), current, flux])


def find_torque_share(points: Points, limits: Limits) -> np.ndarray:
    """Least torque over breakaway torque of the machines that ask for one, shape (n,). [1]"""
    asked = limits.breakaway > 0.0
    return (points.torque[:, asked] / limits.breakaway[asked]).min(axis=1)
