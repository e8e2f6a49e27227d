"""Open-loop V/f drive: frequency ramp, boost, current limit, stall timer.

States (columns of `sim.network.tables`): output frequency, angle, filtered RMS current, voltage trim,
stall timer, time since start.  The limit acts twice: within 5 % of it the ramp slows and stops, and
above it an integrator withholds voltage, so that the RMS current settles at the limit.  The stall timer
runs while the filtered current is within 2 % of the limit and runs back otherwise.
"""

import numpy as np

from sim.kernels.columns import (
    DRIVE_BOOST,
    DRIVE_BOOST_END,
    DRIVE_FILTER,
    DRIVE_HOLD,
    DRIVE_HZ,
    DRIVE_LIMIT,
    DRIVE_RAMP,
    DRIVE_RISE,
    DRIVE_TRIM_RATE,
    DRIVE_VOLTS,
    X_ANGLE,
    X_CLOCK,
    X_CURRENT,
    X_HZ,
    X_STALL,
    X_TRIM,
)
from sim.kernels.jit import entry

LANDING = 0.05      # the last stretch of a ramp closes exponentially with this time constant [s]
LIMIT_BAND = 0.05   # share of the current limit over which the ramp slows to a stop
STALL_BAND = 0.02   # the stall timer runs above limit times (1 - this)
TRIM_MOST = 0.98


@entry
def ramp_share(current, limit):
    """Share of the ramp rate that the current limit leaves."""
    return min(1.0, max(0.0, (limit - current) / (LIMIT_BAND * limit)))


@entry
def drive_voltage(hz, trim, clock, data):
    """Line-to-line RMS voltage behind the output impedance. [V]"""
    share = hz / data[DRIVE_HZ]
    if hz < data[DRIVE_BOOST_END]:
        share += data[DRIVE_BOOST] * (1.0 - hz / data[DRIVE_BOOST_END])
    rise = data[DRIVE_RISE]
    soft = 1.0 if clock >= rise else max(clock, 0.0) / rise
    return data[DRIVE_VOLTS] * min(share, 1.0) * soft * (1.0 - trim)


@entry
def drive_stage(d, e, amps, target, frame_w, data, x):
    """One implicit stage of all states: x = e + d rates(x, amps).

    amps is the RMS output current at the stage; the angle is kept relative to a frame at frame_w.
    """
    x[X_CLOCK] = e[X_CLOCK] + d
    x[X_CURRENT] = (e[X_CURRENT] + d / data[DRIVE_FILTER] * amps) / (1.0 + d / data[DRIVE_FILTER])
    excess = x[X_CURRENT] / data[DRIVE_LIMIT] - 1.0
    x[X_TRIM] = min(TRIM_MOST, max(0.0, e[X_TRIM] + d * data[DRIVE_TRIM_RATE] * excess))
    rate = data[DRIVE_RAMP] * ramp_share(x[X_CURRENT], data[DRIVE_LIMIT])
    if x[X_CLOCK] <= data[DRIVE_HOLD]:
        rate = 0.0
    # df/dt = rate * clip((target - f)/(ramp * LANDING)): solved exactly, it is piecewise linear
    pull = rate / (data[DRIVE_RAMP] * LANDING)
    hz = (e[X_HZ] + d * pull * target) / (1.0 + d * pull)
    if target - hz > data[DRIVE_RAMP] * LANDING:
        hz = e[X_HZ] + d * rate
    elif target - hz < -data[DRIVE_RAMP] * LANDING:
        hz = e[X_HZ] - d * rate
    x[X_HZ] = hz
    x[X_ANGLE] = e[X_ANGLE] + d * (2.0 * np.pi * hz - frame_w)
    if x[X_CURRENT] > (1.0 - STALL_BAND) * data[DRIVE_LIMIT]:
        x[X_STALL] = e[X_STALL] + d
    else:
        x[X_STALL] = max(0.0, e[X_STALL] - d)


@entry
def ramp_rate(x, target, data):
    """Present rate of the output frequency. [Hz/s]"""
    if x[X_CLOCK] < data[DRIVE_HOLD]:
        return 0.0
    pull = min(1.0, max(-1.0, (target - x[X_HZ]) / (data[DRIVE_RAMP] * LANDING)))
    return data[DRIVE_RAMP] * ramp_share(x[X_CURRENT], data[DRIVE_LIMIT]) * pull
