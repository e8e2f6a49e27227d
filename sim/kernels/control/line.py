"""The V/f line of a drive and its ceiling.

Plain arithmetic on numbers or arrays, written once: `sim.kernels.control.drive` compiles it, `sim.phasors.drive_line`
calls it as it stands.  No compiler is loaded here.
"""

import math


def line_voltage(hz, volts, rated_hz, boost, boost_end):
    """Line-to-line RMS voltage of the V/f line, before compensation and ceiling. [V]

    Parameters
    ----------
    hz : float or array
        [Hz]
    volts, rated_hz : float
        Rated voltage [V] and frequency [Hz].
    boost : float or array
        Voltage added at zero frequency, of rated. [pu]
    boost_end : float
        Frequency at which the boost has fallen to nothing. [Hz]
    """
    return volts * (hz / rated_hz + boost * (1.0 - hz / boost_end) * (hz < boost_end))


def voltage_ceiling(volts, share, peak, direct):
    """Highest line-to-line RMS voltage: a share of rated, and what the link leaves. [V]

    Parameters
    ----------
    volts : float
        Rated voltage. [V]
    share : float
        Setting of the drive, of rated. [pu]
    peak : float
        Line-to-line RMS output per unit of direct voltage at full modulation. [1]
    direct : float
        Direct voltage, infinite where nothing limits it. [V]
    """
    if direct == math.inf:
        return volts * share
    return min(volts * share, peak * direct)
