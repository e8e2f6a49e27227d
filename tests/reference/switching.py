"""Closed forms of switching: energisation, chopping, recovery voltage, currents without zeros, trapped charge.

Sources: A. Greenwood, *Electrical Transients in Power Systems*, 2nd ed., chapters 3-6 (from memory, to be
checked); the worked examples in tests/published anchor each form.
"""

import numpy as np
from scipy.optimize import brentq


def rl_energisation(t, peak, resistance, inductance, frequency, angle):
    """Current after peak sin(w t + angle) is put on R + L at rest at t = 0. [A]

    The second term is the offset that decays with L/R; it is largest when angle - phi is an odd multiple
    of 90 degrees.
    """
    w = 2.0 * np.pi * frequency
    phi = np.arctan2(w * inductance, resistance)
    size = peak / np.hypot(resistance, w * inductance)
    offset = -np.sin(angle - phi) * np.exp(-resistance * np.asarray(t) / inductance)
    return size * (np.sin(w * np.asarray(t) + angle - phi) + offset)


def chop_voltage(current, inductance, capacitance, voltage=0.0):
    """Peak voltage after a current is chopped: sqrt(v^2 + i^2 L/C). [V]"""
    return np.hypot(voltage, current * np.sqrt(inductance / capacitance))


def critical_resistance(inductance, capacitance):
    """Parallel resistance that just prevents oscillation, half of sqrt(L/C). [ohm]"""
    return 0.5 * np.sqrt(inductance / capacitance)


def chopped_oscillation(t, current, inductance, capacitance, voltage=0.0):
    """Voltage of a lossless L and C in parallel that hold `current` and `voltage` at t = 0. [V]

    `current` is that in the inductance, positive when it discharges the capacitor (v falls).
    """
    w = 1.0 / np.sqrt(inductance * capacitance)
    return voltage * np.cos(w * t) - current * np.sqrt(inductance / capacitance) * np.sin(w * t)


def recovery_frequency(inductance, capacitance):
    """1 / (2 pi sqrt(LC)). [Hz]"""
    return 1.0 / (2.0 * np.pi * np.sqrt(inductance * capacitance))


def recovery_voltage(t, peak, inductance, capacitance, frequency):
    """Voltage across a breaker that clears a terminal fault at current zero, lossless source L and C. [V]

    Source peak cos(w t) behind L, C across the breaker, both at rest:
    peak w0^2/(w0^2 - w^2) (cos w t - cos w0 t).
    """
    w, w0 = 2.0 * np.pi * frequency, 2.0 * np.pi * recovery_frequency(inductance, capacitance)
    return peak * w0**2 / (w0**2 - w**2) * (np.cos(w * t) - np.cos(w0 * t))


def recovery_peak(peak):
    """Twice the source peak, the power frequency standing still. [V]"""
    return 2.0 * peak


def recovery_average_rate(peak, inductance, capacitance):
    """Peak over its time, half a period of the natural oscillation. [V/s]"""
    return recovery_peak(peak) * 2.0 * recovery_frequency(inductance, capacitance)


def recovery_steepest_rate(peak, inductance, capacitance):
    """Largest slope, peak times natural angular frequency. [V/s]"""
    return peak / np.sqrt(inductance * capacitance)


def capacitive_recovery(t, peak, frequency, isolated=False):
    """Voltage across the pole that interrupts a capacitive current at t = 0, at the source's peak. [V]

    Effectively earthed: the trapped peak less the source, at most 2 peak.  `isolated`: first pole to clear
    of an isolated three-phase bank; the neutral moves until the other two poles clear a quarter cycle
    later, leaving 1.5 peak on the first pole's load side: at most 2.5 peak.
    """
    angle = 2.0 * np.pi * frequency * np.asarray(t)
    source = peak * np.cos(angle)
    if not isolated:
        return peak - source
    held = np.where(angle < 0.5 * np.pi, 1.5 * peak - 0.5 * source, 1.5 * peak)
    return held - source


def damped_chop(t, current, inductance, capacitance, resistance, voltage=0.0):
    """Voltage of L, C and R side by side that hold `current` in L and `voltage` on C at t = 0. [V]

    The sign of the current is that of `chopped_oscillation`; below critical damping, R > sqrt(L/C)/2.
    """
    t = np.asarray(t)
    rate = 0.5 / (resistance * capacitance)
    w = np.sqrt(1.0 / (inductance * capacitance) - rate**2)
    slope = -(current + voltage / resistance) / capacitance
    return np.exp(-rate * t) * (voltage * np.cos(w * t) + (slope + rate * voltage) / w * np.sin(w * t))


def open_end_voltage(t, travel, trapped, emf):
    """Open end of a lossless line with a trapped voltage, closed on to an ideal source at t = 0. [V]

    Waves of emf - trapped arrive after 1, 3, 5 ... travel times, doubled, with alternating sign.

    Parameters
    ----------
    emf : callable
        Time [s], any shape -> voltage [V].
    """
    t = np.asarray(t, dtype=float)
    v = np.full(t.shape, float(trapped))
    for k in range(int(max(t.max(), 0.0) / travel) // 2 + 1):
        since = t - (2 * k + 1) * travel
        v += np.where(since >= 0.0, (-1) ** k * 2.0 * (emf(since) - trapped), 0.0)
    return v


def reclosing_peak(source, trapped):
    """First crest at the open end of a line with a trapped voltage: trapped + 2 (source - trapped). [V]

    A line of -1 pu on a source at +1 pu: 3 pu.
    """
    return trapped + 2.0 * (source - trapped)


def compensated_current(t, peak, frequency, angle, capacitance, inductance, resistance=0.0):
    """Current of a capacitance with a reactor beside it, both put on peak sin(w t + angle) at t = 0. [A]

    The charging surge of the capacitance is left out; the reactor's offset decays with L/R.
    """
    w = 2.0 * np.pi * frequency
    charging = w * capacitance * peak * np.cos(w * np.asarray(t) + angle)
    return charging + rl_energisation(t, peak, resistance, inductance, frequency, angle)


def compensation(frequency, capacitance, inductance):
    """Share of the charging current that the reactor takes, 1/(w^2 L C)."""
    return 1.0 / ((2.0 * np.pi * frequency) ** 2 * inductance * capacitance)


def alternating_and_offset(peak, frequency, angle, capacitance, inductance):
    """Crest of the alternating part |1 - k| w C peak and the offset k w C peak cos(angle), R next to nothing. [A]"""
    k = compensation(frequency, capacitance, inductance)
    charging = 2.0 * np.pi * frequency * capacitance * peak
    return abs(1.0 - k) * charging, k * charging * np.cos(angle)


def zero_free_time(share, inductance, resistance, angle=0.0):
    """How long the offset stays above the alternating crest, L/R ln(k |cos angle| / |1 - k|); 0 if never. [s]

    The estimate behind the rule that more than 50 % of compensation delays current zeros.
    """
    ratio = share * abs(np.cos(angle)) / abs(1.0 - share)
    return inductance / resistance * max(np.log(ratio), 0.0)


def first_zero(peak, frequency, angle, capacitance, inductance, resistance, horizon=10.0):
    """First zero of `compensated_current` after the start, inf if none before the horizon [s]. [s]"""
    def current(t):
        return compensated_current(t, peak, frequency, angle, capacitance, inductance, resistance)

    grid = np.arange(1e-9, horizon, 1e-3 / frequency)
    values = current(grid)
    changes = np.flatnonzero(values[:-1] * values[1:] <= 0.0)
    if not len(changes):
        return np.inf
    k = changes[0]
    return brentq(current, grid[k], grid[k + 1], xtol=1e-13)
