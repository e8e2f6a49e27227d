r"""A piecewise-linear surge arrester behind a resistance, and in a surge of R, L and C.

The characteristic is odd: straight lines through the points of `Curve`, no current below the first voltage, the last
slope continued beyond the last point.

Sources: a bisection of u + R i(u) = E (any text on nonlinear resistors); the travelling-wave form of the same
equation, an arrester at the end of a line as seen by a wave of E/2 behind the surge impedance, is in A. Greenwood,
*Electrical Transients in Power Systems*, 2nd ed., chapter 16 (from memory, to be checked).
"""

from bisect import bisect_right
from typing import Callable, NamedTuple

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq


class Curve(NamedTuple):
    """Points of the characteristic, ascending, the first without current: [V], [A]."""

    volts: np.ndarray
    amps: np.ndarray


class Surge(NamedTuple):
    """Over time [s]: voltage at the arrester [V], current from the source and in the arrester [A], and the energies
    [J] that the arrester has taken, the source given and the resistance lost since the start."""

    t: np.ndarray
    voltage: np.ndarray
    current: np.ndarray
    clamp: np.ndarray
    taken: np.ndarray
    given: np.ndarray
    lost: np.ndarray


def clamp_current(curve: Curve, voltage):
    """Current of a voltage, any shape. [A]"""
    size = np.abs(voltage)
    slope = (curve.amps[-1] - curve.amps[-2]) / (curve.volts[-1] - curve.volts[-2])
    beyond = slope * np.maximum(size - curve.volts[-1], 0.0)
    return np.sign(voltage) * (np.interp(size, curve.volts, curve.amps) + beyond)


def clamp_voltage(curve: Curve, emf, resistance):
    """Voltage across the arrester behind a resistance [ohm], one or many emfs [V]. [V]"""
    def solve(e):
        return brentq(lambda u: u + resistance * clamp_current(curve, u) - e, -abs(e), abs(e), xtol=1e-9, rtol=1e-14)

    return np.vectorize(solve, otypes=[float])(emf)


def surge(curve: Curve, emf: Callable, resistance, inductance, capacitance, t, current=0.0, voltage=0.0) -> Surge:
    """A source behind R and L [ohm, H] acts on the arrester with a capacitance [F] beside it, from t[0] on.

    Parameters
    ----------
    emf : callable
        Time [s] -> voltage [V].
    t : ndarray, shape (n,)
        Moments to report, ascending. [s]
    current, voltage : float
        State at t[0]. [A], [V]
    """
    current_of = _pick_chord(curve)

    def rates(time, y):
        i, u = y[0], y[1]
        into, e = current_of(u), emf(time)
        return [(e - resistance * i - u) / inductance, (i - into) / capacitance, u * into, e * i, resistance * i * i]

    # a steep branch makes the equations stiff; absolute tolerances far below any value that matters
    scale = max(curve.volts[-1], 1.0)
    size = scale * np.sqrt(capacitance / inductance)
    energy = 0.5 * capacitance * scale**2
    period = 2.0 * np.pi * np.sqrt(inductance * capacitance)
    run = solve_ivp(rates, (t[0], t[-1]), [current, voltage, 0.0, 0.0, 0.0], method="Radau", t_eval=t, rtol=1e-8,
                    atol=1e-9 * np.array([size, scale, energy, energy, energy]), max_step=period / 20.0)
    return Surge(t, run.y[1], run.y[0], clamp_current(curve, run.y[1]), *run.y[2:])


def _pick_chord(curve):
    """`clamp_current` of a single number, without the overhead of arrays."""
    volts, amps = [float(v) for v in curve.volts], [float(a) for a in curve.amps]
    slopes = [(b - a) / (w - v) for a, b, v, w in zip(amps, amps[1:], volts, volts[1:])]

    def current(u):
        size = abs(u)
        if size <= volts[0]:
            return 0.0
        k = min(bisect_right(volts, size), len(slopes)) - 1
        i = amps[k] + slopes[k] * (size - volts[k])
        return i if u > 0.0 else -i

    return current


def ideal_step_energy(emf, level, inductance, capacitance):
    """Energy that an arrester of constant voltage takes when a step charges L and C at rest. [J]

    The voltage rises as E (1 - cos) until it meets the level U, E < U < 2 E, with the current i1 given by the energy
    of L and C; the arrester then holds U until E - U has brought the current to zero: U i1^2 L / (2 (U - E)).
    """
    i1_squared = capacitance / inductance * (emf**2 - (level - emf) ** 2)
    return level * inductance * i1_squared / (2.0 * (level - emf))
