"""How the output frequency of a drive moves: stretches, smoothing, current limit, buffering, search.

The frequency follows a chain of stretches, each with its slope.  Without smoothing the slope changes at once; with it,
it grows and falls at a constant rate, and the frequency lands on its target along the parabola that this rate allows
(an S-curve).  The last stretch of either closes exponentially, so that nothing overshoots at long steps.
"""

import numpy as np

from sim.kernels.columns import (
    DRIVE_BENDS,
    DRIVE_BUFFER,
    DRIVE_HOLD,
    DRIVE_JERK,
    DRIVE_LIMIT,
    DRIVE_RAMP,
    DRIVE_SEARCH,
    DRIVE_SEARCH_RATE,
    DRIVE_START_HZ,
    DRIVE_STRETCH,
    LINK_FARADS,
    STRETCHES,
    X_CLOCK,
    X_CURRENT,
    X_ENERGY,
    X_HZ,
    X_RATE,
)
from sim.kernels.jit import entry

LANDING = 0.05      # the last stretch of a ramp closes exponentially with this time constant [s]
LIMIT_BAND = 0.05   # share of the current limit over which the ramp slows to a stop, and beyond it turns back
BUFFER_BAND = 0.05  # share of the buffering voltage over which the ramp turns back


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
    """Share of the slope by which a falling direct voltage turns the ramp back, 0 while it stands."""
    if data[DRIVE_BUFFER] <= 0.0 or data[LINK_FARADS] <= 0.0:
        return 0.0
    volts = np.sqrt(2.0 * max(energy, 0.0) / data[LINK_FARADS])
    return min(1.0, max(0.0, (data[DRIVE_BUFFER] - volts) / (BUFFER_BAND * data[DRIVE_BUFFER])))


@entry
def move_frequency(d, e, x, target, data):
    """One implicit stage of frequency and slope; x already holds clock, current and energy."""
    slope = slope_at(e[X_HZ], data)
    if data[DRIVE_SEARCH] == 1.0:
        x[X_RATE] = -data[DRIVE_SEARCH_RATE]
        x[X_HZ] = max(data[DRIVE_START_HZ], e[X_HZ] + d * x[X_RATE])
        return
    share = ramp_share(x[X_CURRENT], data[DRIVE_LIMIT], data[DRIVE_BENDS] == 1.0)
    back = buffer_share(e[X_ENERGY], data)
    if back > 0.0:
        share = min(share, -back)
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
    if data[DRIVE_SEARCH] == 1.0:
        return -data[DRIVE_SEARCH_RATE] if x[X_HZ] > data[DRIVE_START_HZ] else 0.0
    if x[X_CLOCK] < data[DRIVE_HOLD]:
        return 0.0
    if data[DRIVE_JERK] > 0.0:
        return x[X_RATE]
    slope = slope_at(x[X_HZ], data)
    share = ramp_share(x[X_CURRENT], data[DRIVE_LIMIT], data[DRIVE_BENDS] == 1.0)
    back = buffer_share(x[X_ENERGY], data)
    if back > 0.0:
        share = min(share, -back)
    if share < 0.0:
        return share * slope if x[X_HZ] > data[DRIVE_START_HZ] else 0.0
    return slope * share * min(1.0, max(-1.0, (target - x[X_HZ]) / (slope * LANDING)))
