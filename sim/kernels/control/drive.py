"""Control of a drive by what it measures at its own terminals: V/f line, boost, compensation, limit, protection.

States and data: columns of `sim.kernels.columns`.  The current is that of its output seen along its own voltage, RMS:
active + j reactive, the latter negative when lagging.

The limit acts twice: within 5 % of it the ramp slows and stops (or, where it bends, turns back above it), and above it
an integrator withholds voltage, so that the RMS current settles at the limit.  The stall timer runs while the filtered
current is within 2 % of the limit and runs back otherwise.

Compensation adds what the drop in a resistance R takes from the V/f line: the voltage V that leaves the line's
magnitude U behind R is

    V = R I_active + sqrt(U^2 - (R I_reactive)^2)

An overload is spent at the rate 1/t(I), with t(I) through the points of the drive's rating: between two of them
geometric, outside by I^2 - I_rated^2 (heating above rated load; common practice).
"""

import numpy as np

from sim.kernels.columns import (
    DRIVE_BOOST,
    DRIVE_BOOST_END,
    DRIVE_CEILING,
    DRIVE_DROP,
    DRIVE_DROP_MOST,
    DRIVE_FILTER,
    DRIVE_HZ,
    DRIVE_LIMIT,
    DRIVE_OVERCURRENT,
    DRIVE_OVERLOAD,
    DRIVE_PEAK,
    DRIVE_RATED,
    DRIVE_REST,
    DRIVE_RISE,
    DRIVE_SEARCH_SHARE,
    DRIVE_SEEN,
    DRIVE_SLIP,
    DRIVE_STALL,
    DRIVE_START_HZ,
    DRIVE_TRIM_RATE,
    DRIVE_VOLTS,
    LINK_FARADS,
    LINK_LEAST,
    NOTHING_TO_TELL,
    OVERLOADS,
    X_ACTIVE,
    X_ANGLE,
    X_CLOCK,
    X_CURRENT,
    X_ENERGY,
    X_HEAT,
    X_HZ,
    X_REACTIVE,
    X_SEARCHES,
    X_STALL,
    X_STOPS,
    X_TOLD,
    X_TRIM,
)
from sim.kernels.control.line import line_voltage, voltage_ceiling
from sim.kernels.control.ramp import SEARCH_WAIT, move_frequency
from sim.kernels.jit import entry

STALL_BAND = 0.02   # the stall timer runs above limit times (1 - this)
TRIM_MOST = 0.98
ROOT3 = np.sqrt(3.0)
STALLED, OVERLOADED, OVERCURRENT, UNDERVOLTAGE, CAUGHT, LOST, STOPPED = range(1, 8)

find_line, find_ceiling = entry(line_voltage), entry(voltage_ceiling)


@entry
def output_hz(x, data):
    """Output frequency with slip compensation. [Hz]"""
    if data[DRIVE_SLIP] == 0.0 or x[X_SEARCHES] == 1.0:
        return x[X_HZ]
    return x[X_HZ] + data[DRIVE_SLIP] * min(2.0, max(-2.0, x[X_ACTIVE] / data[DRIVE_RATED]))


@entry
def drive_voltage(x, data):
    """Line-to-line RMS voltage behind the output impedance. [V]"""
    hz = output_hz(x, data)
    if x[X_SEARCHES] == 1.0:
        return find_line(hz, data[DRIVE_VOLTS], data[DRIVE_HZ], 0.0, data[DRIVE_BOOST_END]) * data[DRIVE_SEARCH_SHARE]
    volts = find_line(hz, data[DRIVE_VOLTS], data[DRIVE_HZ], data[DRIVE_BOOST], data[DRIVE_BOOST_END])
    rise = data[DRIVE_RISE]
    soft = 1.0 if x[X_CLOCK] >= rise else max(x[X_CLOCK], 0.0) / rise
    if data[DRIVE_DROP] > 0.0:
        active, reactive = ROOT3 * data[DRIVE_DROP] * x[X_ACTIVE], ROOT3 * data[DRIVE_DROP] * x[X_REACTIVE]
        more = active + np.sqrt(max(volts * volts - reactive * reactive, 0.0)) - volts
        volts += min(max(more, 0.0), data[DRIVE_DROP_MOST])
    direct = np.inf
    if data[LINK_FARADS] > 0.0:
        direct = np.sqrt(2.0 * max(x[X_ENERGY], 0.0) / data[LINK_FARADS])
    most = find_ceiling(data[DRIVE_VOLTS], data[DRIVE_CEILING], data[DRIVE_PEAK], direct)
    return min(volts, most) * soft * (1.0 - x[X_TRIM])


@entry
def overload_rate(current, data):
    """Share of the overload spent in a second at an RMS current; below rated it is regained. [1/s]"""
    rated = data[DRIVE_RATED]
    if current <= rated:
        return -1.0 / data[DRIVE_REST]
    low_i, low_t = data[DRIVE_OVERLOAD], data[DRIVE_OVERLOAD + 1]
    if current <= low_i:
        return (current**2 - rated**2) / (low_t * (low_i**2 - rated**2))
    for k in range(1, OVERLOADS):
        i, t = data[DRIVE_OVERLOAD + 2 * k], data[DRIVE_OVERLOAD + 2 * k + 1]
        if i <= low_i:
            break
        if current <= i:
            return np.exp(-(np.log(low_t) + np.log(t / low_t) * np.log(current / low_i) / np.log(i / low_i)))
        low_i, low_t = i, t
    return (current**2 - rated**2) / (low_t * (low_i**2 - rated**2))


@entry
def drive_stage(d, e, current, target, frame_w, data, x):
    """One implicit stage of a drive's control: x = e + d rates(x, current).

    current is complex, along the drive's own voltage; the angle is kept relative to a frame at frame_w.
    """
    amps = abs(current)
    x[X_CLOCK] = e[X_CLOCK] + d
    x[X_CURRENT] = (e[X_CURRENT] + d / data[DRIVE_FILTER] * amps) / (1.0 + d / data[DRIVE_FILTER])
    x[X_ACTIVE] = (e[X_ACTIVE] + d / data[DRIVE_SEEN] * current.real) / (1.0 + d / data[DRIVE_SEEN])
    x[X_REACTIVE] = (e[X_REACTIVE] + d / data[DRIVE_SEEN] * current.imag) / (1.0 + d / data[DRIVE_SEEN])
    excess = x[X_CURRENT] / data[DRIVE_LIMIT] - 1.0
    x[X_TRIM] = min(TRIM_MOST, max(0.0, e[X_TRIM] + d * data[DRIVE_TRIM_RATE] * excess))
    move_frequency(d, e, x, current.real, target, data)
    x[X_ANGLE] = e[X_ANGLE] + d * (2.0 * np.pi * output_hz(x, data) - frame_w)
    if x[X_CURRENT] > (1.0 - STALL_BAND) * data[DRIVE_LIMIT]:
        x[X_STALL] = e[X_STALL] + d
    else:
        x[X_STALL] = max(0.0, e[X_STALL] - d)
    if data[DRIVE_OVERLOAD] > 0.0:
        x[X_HEAT] = max(0.0, e[X_HEAT] + d * overload_rate(x[X_CURRENT], data))


@entry
def find_alarm(x, amps, data):
    """What a running drive must be told at a point, NOTHING_TO_TELL as a rule; amps is the RMS current now. [A]"""
    if x[X_TOLD] == 1.0:
        return NOTHING_TO_TELL
    if x[X_STALL] >= data[DRIVE_STALL]:
        return STALLED
    if x[X_HEAT] >= 1.0:
        return OVERLOADED
    if data[DRIVE_OVERCURRENT] > 0.0 and amps >= data[DRIVE_OVERCURRENT]:
        return OVERCURRENT
    if data[LINK_FARADS] > 0.0 and x[X_ENERGY] < 0.5 * data[LINK_FARADS] * data[LINK_LEAST] ** 2:
        return UNDERVOLTAGE
    if x[X_SEARCHES] == 1.0:
        if x[X_CLOCK] > SEARCH_WAIT * data[DRIVE_SEEN] and x[X_ACTIVE] < 0.0:
            return CAUGHT
        if x[X_HZ] <= data[DRIVE_START_HZ]:
            return LOST
    if x[X_STOPS] == 1.0 and x[X_HZ] <= 1.001 * data[DRIVE_START_HZ]:
        return STOPPED
    return NOTHING_TO_TELL
