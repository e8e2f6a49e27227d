r"""Uniform line: exact two-port at complex frequency, its inversion to time, and travelling waves.

Conventions: near end 1, far end 2; currents of the admittance matrix flow into the line at both ends, the
chain matrix has the far current flowing out (V1 = A V2 + B I2, I1 = C V2 + D I2).  With z = R + sL and
y = G + sC per metre, gamma = sqrt(z y) and Zc = sqrt(z / y),

    A = D = cosh(gamma l),   B = Zc sinh(gamma l),   C = sinh(gamma l) / Zc.

Complex frequency s may be a NumPy array or an mpmath number; s = 0 needs G > 0.

Sources: S. A. Schelkunoff, *Electromagnetic Waves*, 1943, section 7 (uniform line); L. V. Bewley,
*Traveling Waves on Transmission Systems*, 1933 (lattice); T. Hosono, *Numerical inversion of Laplace
transform and some applications to wave optics*, Radio Science 16 (1981) 1015 (Fourier series with Euler's
transformation).  All from memory, to be checked; the tests prove them on known cases.
"""

from math import comb
from typing import NamedTuple

import mpmath
import numpy as np
import skrf
from scipy.linalg import expm
from skrf.media import DefinedGammaZ0


class Line(NamedTuple):
    """Constants per metre [ohm/m], [H/m], [F/m], [S/m] and the length [m] of one sequence."""

    resistance: float
    inductance: float
    capacitance: float
    length: float
    conductance: float = 0.0


class Response(NamedTuple):
    """Voltages [V] and currents [A] at both ends; near current into the line, far current out of it."""

    near_voltage: complex
    far_voltage: complex
    near_current: complex
    far_current: complex


def surge_impedance(line: Line) -> float:
    """sqrt(L/C) of the lossless line. [ohm]"""
    return float(np.sqrt(line.inductance / line.capacitance))


def travel_time(line: Line) -> float:
    """length sqrt(L C). [s]"""
    return float(line.length * np.sqrt(line.inductance * line.capacitance))


def propagation(line: Line, s):
    """gamma [1/m] and Zc [ohm] at complex frequency s [1/s]."""
    z = line.resistance + s * line.inductance
    y = line.conductance + s * line.capacitance
    root = _library(s).sqrt
    return root(z) * root(y), root(z) / root(y)


def chain_matrix(line: Line, s):
    """A, B, C, D at complex frequency s."""
    gamma, zc = propagation(line, s)
    library = _library(s)
    cosh, sinh = library.cosh(gamma * line.length), library.sinh(gamma * line.length)
    return cosh, zc * sinh, sinh / zc, cosh


def admittance_matrix(line: Line, s):
    """Short-circuit admittances, shape (..., 2, 2), currents into the line. [S]"""
    a, b, _, d = chain_matrix(line, np.asarray(s, dtype=complex))
    return np.stack([np.stack([d / b, -1.0 / b], -1), np.stack([-1.0 / b, a / b], -1)], -2)


def transfer(line: Line, s, source_impedance=0.0, load_admittance=0.0) -> Response:
    """Response at complex frequency s to a unit source behind an impedance, into a load at the far end.

    `source_impedance` [ohm] and `load_admittance` [S] are numbers or values at s.
    """
    a, b, c, d = chain_matrix(line, s)
    near, current = a + b * load_admittance, c + d * load_admittance
    far = 1.0 / (near + source_impedance * current)
    return Response(near * far, far, current * far, load_admittance * far)


def ferranti(line: Line, frequency) -> float:
    """Far over near voltage of the open line, magnitude. [pu]"""
    return abs(1.0 / chain_matrix(line, 2j * np.pi * frequency)[0])


def cosine(s, frequency, phase=0.0):
    """Transform of cos(2 pi frequency t + phase) from t = 0 on."""
    w = 2.0 * np.pi * frequency
    return (s * np.cos(phase) - w * np.sin(phase)) / (s * s + w * w)


def invert(function, t, terms=8000, damping=8.0, tail=12):
    """Inverse Laplace transform at many times, vectorised.

    Fourier series with the last `tail` terms summed by Euler's transformation.  The result is off by about
    exp(-2 damping) of the function's later values (1e-7 by default) plus the truncated terms: use it where
    the function has no jump (a source behind an inductance), not exactly at the arrival of a front, and
    compare two values of `terms` when in doubt.

    Parameters
    ----------
    function : callable
        Complex array s -> transform.
    t : array_like, shape (n,)
        [s]  > 0
    """
    t = np.asarray(t, dtype=float)
    n = np.arange(1, terms + tail + 1)
    sign = (-1.0) ** n
    weight = np.ones(terms + tail)
    weight[terms:] = 1.0 - np.cumsum([comb(tail, k) for k in range(tail)]) / 2.0**tail
    out = np.empty(t.shape)
    for k, time in enumerate(t.ravel()):
        s = (damping + 1j * (n - 0.5) * np.pi) / time
        out.ravel()[k] = np.exp(damping) / time * np.sum(weight * sign * np.imag(function(s)))
    return out


def invert_precisely(function, t, degree=40, digits=30):
    """Inverse Laplace transform by de Hoog's method of mpmath: slow, good near jumps and for short times.

    `function` must take mpmath numbers.  A line needs more `degree` the more reflections t spans: 40 does
    for the first arrival, 60 for three; beyond five the method stops converging (use `invert`).
    """
    with mpmath.workdps(digits):
        return np.array([float(mpmath.invertlaplace(function, time, method="dehoog", degree=degree))
                         for time in np.ravel(t)])


def step_response(line: Line, t, source_resistance=0.0, source_inductance=0.0, load=None, **how):
    """Far-end voltage after a unit step behind R + L [ohm, H], by `invert`. [V]

    `load` is a callable s -> admittance [S]; None leaves the far end open.
    """
    def image(s):
        admittance = load(s) if load else 0.0
        return transfer(line, s, source_resistance + s * source_inductance, admittance).far_voltage / s

    return invert(image, t, **how)


def reflection(surge, end):
    """Voltage reflected at an end of resistance `end` [ohm] (inf when open), per incident voltage."""
    return 1.0 if np.isinf(end) else (end - surge) / (end + surge)


def refraction(surge, end):
    """Voltage passed on at a junction, per incident voltage."""
    return 1.0 + reflection(surge, end)


def lattice(emf, surge, source_resistance, load_resistance, count):
    """Plateaus of a lossless line after a step: near end from 0, 2T, 4T ...; far end from T, 3T, 5T ... [V]

    Waves are counted one by one, as on a lattice diagram.
    """
    near_back, far_back = reflection(surge, source_resistance), reflection(surge, load_resistance)
    wave = emf * surge / (surge + source_resistance)
    near, far = [wave], []
    for _ in range(count):
        far.append((far[-1] if far else 0.0) + wave * (1.0 + far_back))
        wave = wave * far_back
        near.append(near[-1] + wave * (1.0 + near_back))
        wave = wave * near_back
    return np.array(near[:count]), np.array(far)


def inductive_front(t, surge, travel, inductance, attenuation=0.0):
    """Far end of an open line behind an inductance alone after a unit step, 0 <= t < 5 T. [V]

    Exact for a lossless line and for a distortionless one (R/L = G/C), whose waves shrink by
    exp(-attenuation) [Np] per passage: partial fractions of 2 a/(s + a) ((s - a)/(s + a))^k / s, a = Zc/L,
    for the waves k = 0, 1.
    """
    a, t = surge / inductance, np.asarray(t, dtype=float)
    first, second = np.maximum(t - travel, 0.0), np.maximum(t - 3.0 * travel, 0.0)
    once = 1.0 - np.exp(-a * first)
    twice = -1.0 + np.exp(-a * second) * (1.0 + 2.0 * a * second)
    return 2.0 * np.exp(-attenuation) * once + 2.0 * np.exp(-3.0 * attenuation) * twice


def library_admittance(line: Line, frequency):
    """The same two-port built by scikit-rf from gamma and Zc, shape (n, 2, 2). [S]"""
    axis = skrf.Frequency.from_f(np.atleast_1d(frequency), unit="hz")
    gamma, zc = propagation(line, 2j * np.pi * axis.f)
    return DefinedGammaZ0(frequency=axis, gamma=gamma, z0=zc).line(line.length, "m").y


def ladder_admittance(line: Line, s, sections):
    """Two-port of a chain of pi sections, shape (..., 2, 2); many sections tend to the line. [S]"""
    s = np.asarray(s, dtype=complex)
    length = line.length / sections
    z = (line.resistance + s * line.inductance) * length
    y = 0.5 * (line.conductance + s * line.capacitance) * length
    diagonal = 1.0 + z * y
    one = np.stack([np.stack([diagonal, z], -1), np.stack([y * (2.0 + z * y), diagonal], -1)], -2)
    (a, b), (_, d) = np.moveaxis(np.linalg.matrix_power(one, sections), (-2, -1), (0, 1))
    return np.stack([np.stack([d / b, -1.0 / b], -1), np.stack([-1.0 / b, a / b], -1)], -2)


def ladder_step(line: Line, t, source_resistance, source_inductance, sections):
    """Far-end voltage after a unit step behind R + L into an open chain of pi sections. [V]

    Exact in time (matrix exponential) at the equally spaced times t, which start at 0.
    """
    length, n = line.length / sections, sections + 1
    shunt = np.full(n, line.capacitance * length)
    shunt[[0, -1]] *= 0.5
    series = np.full(n, line.inductance * length)
    series[0] = source_inductance
    lost = np.full(n, line.resistance * length)
    lost[0] = source_resistance
    into = np.eye(n) - np.eye(n, k=1)                 # current k flows into node k, current k + 1 out of it
    a = np.zeros((2 * n + 1, 2 * n + 1))              # node voltages, series currents, the constant source
    a[:n, :n] = np.diag(np.full(n, -line.conductance / line.capacitance))
    a[:n, n:-1] = into / shunt[:, None]
    a[n:-1, :n] = -into.T / series[:, None]
    a[n:-1, n:-1] = np.diag(-lost / series)
    a[n, -1] = 1.0 / series[0]
    step, x = expm(a * (t[1] - t[0])), np.eye(2 * n + 1)[-1]
    out = []
    for _ in t:
        out.append(x[n - 1])
        x = step @ x
    return np.array(out)


def _library(s):
    return mpmath if isinstance(s, (mpmath.mpf, mpmath.mpc)) else np
