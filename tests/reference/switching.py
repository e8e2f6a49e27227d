"""Closed forms of switching: energisation, chopping, recovery voltage, currents without zeros, trapped charge.

Sources: A. Greenwood, *Electrical Transients in Power Systems*, 2nd ed., chapters 3-6 (from memory, to be
checked); the worked examples in tests/published anchor each form.
"""

import numpy as np


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
