"""The speed a machine should reach, and the moment it does."""

from typing import Any

import numpy as np

from sim.measures.supply import Span, find_drive

AT_SPEED_PU = 0.95


def slip_speed(motor: Any) -> float:
    """Synchronous minus rated speed of a motor. [rad/s]"""
    return synchronous_speed(motor, motor.frequency_hz) - motor.rated_speed_rad_per_s


def synchronous_speed(motor: Any, frequency):
    """Synchronous speed at `frequency` [Hz]: 4 pi f / poles. [rad/s]"""
    return 4.0 * np.pi * frequency / motor.poles


def find_target(case: Any, span: Span, t: np.ndarray) -> np.ndarray:
    """Frequency asked of the source, shape (n,): the grid's, or the drive's after its speed events. [Hz]"""
    drive = find_drive(case, span.source)
    if drive is None:
        grid = next(grid for grid in case.grids if grid.name == span.source)
        return np.full(len(t), grid.frequency_hz)
    asked = np.full(len(t), drive.frequency_hz if drive.target_hz is None else drive.target_hz)
    for event in sorted(case.events, key=lambda event: event.at_s):
        if event.action == "speed" and event.target == drive.name:
            asked[t >= event.at_s] = event.to_hz
    return asked


def expect_speed(case: Any, motor: Any, span: Span, t: np.ndarray) -> np.ndarray:
    """Speed the machine should settle at, shape (n,): synchronous at the asked frequency less rated slip.

    A constant slip speed is the constant-flux rule of an induction motor. [rad/s]
    """
    return synchronous_speed(motor, find_target(case, span, t)) - slip_speed(motor)


def find_reached(t: np.ndarray, speed: np.ndarray, expected: np.ndarray) -> float | None:
    """First time the speed passes 95 % of the expected one, by linear interpolation; None if never. [s]"""
    ratio = speed / expected
    above = np.flatnonzero(ratio >= AT_SPEED_PU)
    if not len(above):
        return None
    k = above[0]
    if k == 0 or t[k] == t[k - 1]:
        return float(t[k])
    along = (AT_SPEED_PU - ratio[k - 1]) / (ratio[k] - ratio[k - 1])
    return float(t[k - 1] + along * (t[k] - t[k - 1]))
