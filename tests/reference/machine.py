r"""Induction machine run up from rest, integrated by a general-purpose solver at a tight tolerance.

Currents are the states, in a stationary frame with **amplitude-invariant** space vectors: a vector's
length is the peak of the phase quantity, x = 2/3 (xa + a xb + a^2 xc), and phase a is its real part.  With
the stator current i0 and the cage currents i1, i2 (all into the machine, rotor values referred),

    v = Rs i0 + d/dt (Ls i0 + Lm im)                            im = i0 + i1 + i2
    0 = Rk ik + d/dt (Lk ik + Lm im) - j p w (Lk ik + Lm im)    k = 1, 2
    T = 3/2 p Lm Im(i0 conj(i1 + i2))                           J dw/dt = T - T_load

p is the number of pole pairs and w the mechanical speed [rad/s].  A balanced source behind R + L with an
isolated star point only adds to Rs and Ls.

Source: P. C. Krause, O. Wasynczuk, S. D. Sudhoff, *Analysis of Electric Machinery*, chapter 4, written in
currents instead of flux linkages.
"""

from typing import Callable, NamedTuple

import numpy as np
from scipy.integrate import solve_ivp

RELATIVE = 1e-10


class Machine(NamedTuple):
    """Star equivalent per phase: [ohm], [H], cages as (R, L) pairs, inertia of the whole shaft [kg m2]."""

    stator_resistance: float
    stator_inductance: float
    magnetising_inductance: float
    cages: tuple
    pole_pairs: int
    inertia: float


class Motion(NamedTuple):
    """What `simulate` gives: time [s], phase currents [A], air-gap torque [N m], speed [rad/s].

    `current` and `voltage` are the stator space vectors, the voltage at the machine's terminals [V];
    `released` are the times at which the shaft broke away [s].
    """

    t: np.ndarray
    ia: np.ndarray
    ib: np.ndarray
    ic: np.ndarray
    torque: np.ndarray
    speed: np.ndarray
    current: np.ndarray
    voltage: np.ndarray
    released: list


def from_reactances(rs, xs, xm, cages, frequency, poles, inertia) -> Machine:
    """Machine from reactances [ohm] at a frequency [Hz]; `cages` is a sequence of (R, X)."""
    w = 2.0 * np.pi * frequency
    return Machine(rs, xs / w, xm / w, tuple((r, x / w) for r, x in cages), poles // 2, inertia)


def balanced_supply(voltage, frequency, phase=0.0) -> Callable:
    """Space vector whose phase a is sqrt(2/3) voltage cos(2 pi frequency t + phase); voltage [V rms] L-L."""
    peak, w = np.sqrt(2.0 / 3.0) * voltage, 2.0 * np.pi * frequency
    return lambda t: peak * np.exp(1j * (w * t + phase))


def ramp_supply(voltage, frequency, start_hz, hz_per_s, target_hz, hold=0.0) -> Callable:
    """Constant volts per hertz: `start_hz` for `hold` [s], then a ramp up to `target_hz`.

    `voltage` [V line-to-line rms] belongs to `frequency` [Hz].  The angle is the integral of frequency.
    """
    rise = (target_hz - start_hz) / hz_per_s
    per_hz = np.sqrt(2.0 / 3.0) * voltage / frequency

    def space_vector(t):
        ramp = min(max(t - hold, 0.0), rise)
        beyond = max(t - hold - rise, 0.0)
        hz = start_hz + hz_per_s * ramp
        turns = start_hz * (t - beyond) + 0.5 * hz_per_s * ramp**2 + target_hz * beyond
        return per_hz * hz * np.exp(2j * np.pi * turns)

    return space_vector


def polynomial_load(*coefficients) -> Callable:
    """Torque c0 + c1 w + c2 w^2 + ... of a mechanical speed w >= 0 [rad/s]. [N m]"""
    return lambda w: np.polynomial.polynomial.polyval(w, coefficients)


def simulate(machine: Machine, supply: Callable, duration, step=1e-4, load=None,
             source=(0.0, 0.0)) -> Motion:
    """Start a machine at rest and without current at t = 0.

    Parameters
    ----------
    supply : callable
        Time [s] -> space vector of the source voltage, amplitude-invariant. [V]
    step : float
        Spacing of the samples given back; the solver picks its own steps. [s]
    load : callable or None
        Speed magnitude [rad/s] -> torque against the rotation [N m]; None turns freely.  The torque at
        speed zero is the breakaway torque: the shaft stays at rest until the air-gap torque exceeds it,
        and stops again when the speed passes through zero with less air-gap torque than that.
    source : (float, float)
        Resistance [ohm] and inductance [H] per phase between source and machine.
    """
    equations = _Equations(machine, supply, load, source)
    breakaway = load(0.0) if load else 0.0
    t = np.arange(0.0, duration + 0.5 * step, step)
    y = np.empty((equations.size, t.size))
    state, now, locked, released = np.zeros(equations.size), 0.0, breakaway > 0.0, []
    y[:, 0] = state
    while now < t[-1]:
        piece = _integrate(equations, now, t[-1], state, locked, breakaway)
        inside = (t > now) & (t <= piece.t[-1])
        y[:, inside] = piece.sol(t[inside])
        now, state = piece.t[-1], piece.y[:, -1].copy()
        if piece.status == 1 and locked:
            released.append(now)
            locked = False
        elif piece.status == 1:
            state[-1] = 0.0
            locked = abs(equations.torque(state)) <= breakaway
    return _report(equations, t, y, released)


class _Equations:
    """Right-hand side of the equations in the head of this module."""

    def __init__(self, machine, supply, load, source):
        self.machine, self.supply, self.load, self.source = machine, supply, load, source
        self.n = 1 + len(machine.cages)
        self.size = 2 * self.n + 1
        leakages = [machine.stator_inductance + source[1], *(l for _, l in machine.cages)]
        self.inductance = np.full((self.n, self.n), machine.magnetising_inductance) + np.diag(leakages)
        self.inverse = np.linalg.inv(self.inductance)
        self.resistance = np.array([machine.stator_resistance + source[0], *(r for r, _ in machine.cages)])

    def torque(self, y):
        """Air-gap torque. [N m]"""
        i = y[:-1].view(complex)
        m = self.machine
        return 1.5 * m.pole_pairs * m.magnetising_inductance * np.imag(i[0] * np.conj(i[1:].sum()))

    def current_rates(self, t, y):
        """d/dt of all currents. [A/s]"""
        i = y[:-1].view(complex)
        drive = -self.resistance * i
        drive[0] += self.supply(t)
        drive[1:] += 1j * self.machine.pole_pairs * y[-1] * (self.inductance @ i)[1:]
        return self.inverse @ drive

    def load_torque(self, speed, torque):
        """Torque against the motion; at rest it opposes the motor. [N m]"""
        if self.load is None:
            return 0.0
        return (np.sign(speed) or np.sign(torque)) * self.load(abs(speed))

    def rates(self, t, y):
        """All rates of change with the shaft free."""
        out = np.empty(self.size)
        out[:-1] = self.current_rates(t, y).view(float)
        torque = self.torque(y)
        out[-1] = (torque - self.load_torque(y[-1], torque)) / self.machine.inertia
        return out

    def rates_at_rest(self, t, y):
        """All rates of change with the shaft locked."""
        return np.append(self.current_rates(t, y).view(float), 0.0)


def _integrate(equations, start, end, state, locked, breakaway):
    """One piece: up to the end, the release of the shaft or its passage through zero speed."""
    way = np.sign(equations.torque(state)) or 1.0
    way = np.sign(state[-1]) or way

    def break_away(t, y):
        return abs(equations.torque(y)) - breakaway

    def come_to_rest(t, y):
        return way * y[-1]

    break_away.terminal, break_away.direction = True, 1.0
    come_to_rest.terminal, come_to_rest.direction = True, -1.0
    events = [break_away] if locked else [come_to_rest] if breakaway > 0.0 else None
    # absolute tolerance: far below any current [A] or speed [rad/s] that matters
    return solve_ivp(equations.rates_at_rest if locked else equations.rates, (start, end), state,
                     method="DOP853", rtol=RELATIVE, atol=1e-9, dense_output=True, events=events)


def _report(equations, t, y, released):
    i = np.ascontiguousarray(y[:-1].T).view(complex)
    torque = 1.5 * equations.machine.pole_pairs * equations.machine.magnetising_inductance
    torque = torque * np.imag(i[:, 0] * np.conj(i[:, 1:].sum(axis=1)))
    rates = np.array([equations.current_rates(time, np.ascontiguousarray(column))[0]
                      for time, column in zip(t, y.T)])
    source = np.array([equations.supply(time) for time in t])
    voltage = source - equations.source[0] * i[:, 0] - equations.source[1] * rates
    turn = np.exp(-2j * np.pi / 3.0)
    phases = [np.real(i[:, 0] * factor) for factor in (1.0, turn, turn**2)]
    return Motion(t, *phases, torque, y[-1], i[:, 0], voltage, released)
