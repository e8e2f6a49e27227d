"""The speed a machine should reach, and the moment it does.

Every share of speed in the results is a share of *rated speed at the frequency that the source is sent to*: the
synchronous speed there less the rated slip speed, which at rated frequency is the rated speed itself.  A machine is at
speed from 95 % of it.  The yardstick stands before the run begins, so neither the load nor the length of the run moves
it: a machine without load passes 95 % of rated speed on its way to synchronous speed, and a drive that is sent to half
of rated frequency has no need to bring more.
"""

from typing import Any

import numpy as np

from sim.measures.supply import Span, find_drive
from sim.results.run import RunResult

AT_SPEED_PU = 0.95
SENDING = ("start", "speed", "ramp_down")       # events that tell the frequency a drive is sent to


def slip_speed(motor: Any) -> float:
    """Synchronous minus rated speed of a motor. [rad/s]"""
    return synchronous_speed(motor, motor.frequency_hz) - motor.rated_speed_rad_per_s


def synchronous_speed(motor: Any, frequency: Any) -> Any:
    """Synchronous speed at a frequency [Hz], a number or an array: 4 pi f / poles. [rad/s]"""
    return 4.0 * np.pi * frequency / motor.poles


def find_target(result: RunResult, span: Span, t: np.ndarray) -> np.ndarray:
    """Frequency asked of the source, shape (n,): the grid's, or the one that a drive was last sent to. [Hz]

    What ends the span asks nothing of it.
    Where the log does not tell it, as in run files of format 1, a drive's own target holds throughout.
    """
    case, drive = result.case, find_drive(result.case, span.source)
    if drive is None:
        grid = next(grid for grid in case.grids if grid.name == span.source)
        return np.full(len(t), grid.frequency_hz)
    asked = np.full(len(t), drive.frequency_hz if drive.target_hz is None else drive.target_hz)
    for event in sorted(result.events, key=lambda event: event.t):
        counts = event.where == drive.name and event.what in SENDING and event.t < span.end
        if counts and event.value is not None:
            asked[t >= event.t] = event.value
    return asked


def expect_speed(result: RunResult, motor: Any, span: Span, t: np.ndarray) -> np.ndarray:
    """Speed the machine should settle at, shape (n,): synchronous at the asked frequency less rated slip.

    A constant slip speed is the constant-flux rule of an induction motor: rated torque at rated flux slips by as many
    rpm at any frequency. [rad/s]
    """
    return synchronous_speed(motor, find_target(result, span, t)) - slip_speed(motor)


def find_asked_hz(motor: Any, expected: float) -> float:
    """Frequency asked of the source of a machine that should settle at `expected` [rad/s]. [Hz]"""
    return (expected + slip_speed(motor)) * motor.poles / (4.0 * np.pi)


def name_full_speed(motor: Any, asked_hz: float | None) -> str:
    """Speed that shares are taken of, in words: rated speed, with the frequency where that is another one."""
    elsewhere = asked_hz is not None and not np.isclose(asked_hz, motor.frequency_hz, rtol=1e-6)
    return f"rated speed at {asked_hz:.4g} Hz" if elsewhere else "rated speed"


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
