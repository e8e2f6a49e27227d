"""How the output frequency of a drive moves: stretches, smoothing, current limit, buffering, search.

The frequency follows a chain of stretches, each with its slope.  Without smoothing the slope changes at once; with it,
it grows and falls at a constant rate, and the frequency lands on its target along the parabola that this rate allows
(an S-curve).  The last stretch of either closes exponentially, so that nothing overshoots at long steps.
"""

import numpy as np

from sim.kernels.columns import (
    DRIVE_BENDS,
    DRIVE_BUFFER,
    DRIVE_BUFFER_RATE,
    DRIVE_HOLD,
    DRIVE_HZ,
    DRIVE_JERK,
    DRIVE_LIMIT,
    DRIVE_RAMP,
    DRIVE_RATED,
    DRIVE_SEARCH_RATE,
    DRIVE_SEEN,
    DRIVE_START_HZ,
    DRIVE_STRETCH,
    LINK_FARADS,
    STRETCHES,
    X_CLOCK,
    X_CURRENT,
    X_ENERGY,
    X_HZ,
    X_RATE,
    X_SEARCHES,
)
from sim.kernels.jit import entry

LANDING = 0.05      # the last stretch of a ramp closes exponentially with this time constant [s]
LIMIT_BAND = 0.05   # share of the current limit over which the ramp slows to a stop, and beyond it turns back
# Power answers to frequency with the lag of the motor's leakage, some 15 ms, and the direct voltage is its integral:
# the voltage may weigh only this much beside the power, or the two swing (limit 20 ms of link over the lag).
BUFFER_WEIGHT = 0.6
# A search waits for so many time constants of the measured current: what field the motor has left dies in the meantime.
SEARCH_WAIT = 5.0


@entry
def ramp_share(current, limit, bends):
    """Share of the slope that the current limit leaves; below 0 a limit that bends turns the ramp back."""
    return min(1.0, max(-1.0 if bends else 0.0, (limit - current) / (LIMIT_BAND * limit)))


@entry
def slope_at(hz, data):
    """Slope of the stretch that a frequency lies in. [Hz/s]"""
    for k in range(STRETCHES):
        at = DRIVE_STRETCH + 2 * k
        if hz < data[at]:
            return data[at + 1]
    return data[DRIVE_RAMP]


@entry
def buffer_share(energy, data):
    """Share of its steepest slope by which a direct voltage that is too low lowers the frequency, 0 while it is not."""
    if data[DRIVE_BUFFER] <= 0.0 or data[LINK_FARADS] <= 0.0:
        return 0.0
    volts = np.sqrt(2.0 * max(energy, 0.0) / data[LINK_FARADS])
    return max(0.0, BUFFER_WEIGHT * (1.0 - volts / data[DRIVE_BUFFER]))


@entry
def move_frequency(d, e, x, active, target, data):
    """One implicit stage of frequency and slope; x already holds clock and current, `active` is the current now. [A]

    A drive that lives on its turning masses lowers its frequency by what the direct voltage lacks and by the power it
    still gives: the second damps what would otherwise swing between motor and link.
    """
    slope = slope_at(e[X_HZ], data)
    if e[X_SEARCHES] == 1.0:
        x[X_RATE] = 0.0 if x[X_CLOCK] < SEARCH_WAIT * data[DRIVE_SEEN] else -data[DRIVE_SEARCH_RATE]
        x[X_HZ] = max(data[DRIVE_START_HZ], e[X_HZ] + d * x[X_RATE])
        return
    share = ramp_share(x[X_CURRENT], data[DRIVE_LIMIT], data[DRIVE_BENDS] == 1.0)
    back = buffer_share(e[X_ENERGY], data)
    if back > 0.0:
        power = active / data[DRIVE_RATED] * e[X_HZ] / data[DRIVE_HZ]
        x[X_RATE] = -data[DRIVE_BUFFER_RATE] * min(1.0, max(-1.0, back + power))
        x[X_HZ] = max(data[DRIVE_START_HZ], e[X_HZ] + d * x[X_RATE])
        return
    held = x[X_CLOCK] <= data[DRIVE_HOLD]
    if share < 0.0:
        x[X_RATE] = 0.0 if held else share * slope
        x[X_HZ] = max(data[DRIVE_START_HZ], e[X_HZ] + d * x[X_RATE])
        return
    rate = 0.0 if held else slope * share
    if data[DRIVE_JERK] > 0.0:
        step = d * data[DRIVE_JERK]
        gap = target - (e[X_HZ] + d * e[X_RATE])
        size = min(rate, np.sqrt(2.0 * data[DRIVE_JERK] * abs(gap)), abs(gap) / LANDING)
        wanted = size if gap > 0.0 else -size
        x[X_RATE] = min(e[X_RATE] + step, max(e[X_RATE] - step, wanted))
        x[X_HZ] = e[X_HZ] + d * x[X_RATE]
        return
    # df/dt = rate * clip((target - f)/(slope * LANDING)): solved exactly, it is piecewise linear
    pull = rate / (slope * LANDING)
    hz = (e[X_HZ] + d * pull * target) / (1.0 + d * pull)
    if target - hz > slope * LANDING:
        hz = e[X_HZ] + d * rate
    elif target - hz < -slope * LANDING:
        hz = e[X_HZ] - d * rate
    x[X_HZ] = hz
    x[X_RATE] = (hz - e[X_HZ]) / d


@entry
def ramp_rate(x, target, data):
    """Present slope of the output frequency. [Hz/s]"""
    if x[X_SEARCHES] == 1.0:
        moves = x[X_CLOCK] >= SEARCH_WAIT * data[DRIVE_SEEN]
        return -data[DRIVE_SEARCH_RATE] if moves and x[X_HZ] > data[DRIVE_START_HZ] else 0.0
    if x[X_CLOCK] < data[DRIVE_HOLD]:
        return 0.0
    if data[DRIVE_JERK] > 0.0:
        return x[X_RATE]
    slope = slope_at(x[X_HZ], data)
    share = ramp_share(x[X_CURRENT], data[DRIVE_LIMIT], data[DRIVE_BENDS] == 1.0)
    back = buffer_share(x[X_ENERGY], data)
    if back > 0.0 or share < 0.0:
        rate = -back * data[DRIVE_BUFFER_RATE] if back > 0.0 else share * slope
        return rate if x[X_HZ] > data[DRIVE_START_HZ] else 0.0
    return slope * share * min(1.0, max(-1.0, (target - x[X_HZ]) / (slope * LANDING)))
