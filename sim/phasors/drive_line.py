"""Voltage of a drive over its frequency: the V/f line with boost, under the ceiling.

The line and the ceiling are those that the kernels compile (`sim.kernels.control.line`).  Compensation, current limit,
the rise after a start and what the dead time of its pulses takes along the current
(`sim.kernels.control.pulses.dead_time_loss`) are left out, the direct-voltage link stands at its rated voltage.
"""

import math
from typing import Any, NamedTuple

import numpy as np

from sim.kernels.control.line import line_voltage, voltage_ceiling
from sim.network.drives import SINE


class DriveLine(NamedTuple):
    """The V/f line of one drive.

    Attributes
    ----------
    rated_v, rated_hz : float
        [V], [Hz]
    boost : float
        Voltage added at zero frequency, of rated. [pu]
    boost_end_hz : float
        Where it has fallen to nothing. [Hz]
    ceiling_v : float
        Highest voltage. [V]
    """

    rated_v: float
    rated_hz: float
    boost: float
    boost_end_hz: float
    ceiling_v: float


def read_line(drive: Any) -> DriveLine:
    """Line of a drive's record; its link limits the voltage where a front end feeds it."""
    peak, direct = 0.0, math.inf
    if drive.front_end:
        peak, direct = drive.dc_link.modulation_max_pu * SINE, drive.dc_link.rated_v
    ceiling = voltage_ceiling(drive.rated_v, drive.voltage_max_pu, peak, direct)
    return DriveLine(drive.rated_v, drive.frequency_hz, drive.boost_pu, drive.boost_end_hz, float(ceiling))


def find_voltage(line: DriveLine, hz: Any, boost: Any = None) -> np.ndarray:
    """Line-to-line RMS voltage behind the drive's output impedance. [V]

    Parameters
    ----------
    line : DriveLine
    hz : float or ndarray
        [Hz]
    boost : float or ndarray, optional
        Another boost than the line's, of rated. [pu]

    Checked by
    ----------
    tests/phasors/test_drive_line.py
    """
    volts = line_voltage(hz, line.rated_v, line.rated_hz, line.boost if boost is None else boost, line.boost_end_hz)
    return np.minimum(volts, line.ceiling_v)


def find_boost(line: DriveLine, hz: np.ndarray, volts: np.ndarray) -> np.ndarray:
    """Boost with which the line, ceiling aside, gives a voltage [V] at a frequency; 0 where boost has faded. [pu]"""
    plain, most = (line_voltage(hz, line.rated_v, line.rated_hz, boost, line.boost_end_hz) for boost in (0.0, 1.0))
    return np.divide(volts - plain, most - plain, out=np.zeros_like(volts), where=most > plain)
