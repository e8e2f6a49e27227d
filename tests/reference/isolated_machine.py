r"""Induction machine with capacitors that its breaker cuts off from the supply pole by pole.

The machine is that of `machine`, written in flux linkages (amplitude-invariant space vectors, stationary frame), with
a main path behind all leakages that saturates with the length of its flux psi_m:

    psi_k = L_k i_k + psi_m,        sum of i_k = psi_m/Lm + (1/share - 1)/Lm (|psi_m| - knee) psi_m/|psi_m|,

the last term beyond the knee, share the slope of the magnetising inductance beyond the knee over the one below it.
The sum of psi_k/L_k has the direction of psi_m, so that its length follows from straight lines.  The star point is
isolated.  Beside the machine in each phase lie a capacitance and a conductance to earth; a source behind R and L feeds
both through three poles.  A pole ordered to open interrupts at the next zero of its current.

    L di/dt = e - R i - v,      C dv/dt = i - g v - i_s,      dpsi_s/dt = v - Rs i_s,
    dpsi_k/dt = -Rk ik + j p w psi_k,       J dw/dt = T - T_load

Sources: P. C. Krause, O. Wasynczuk, S. D. Sudhoff, *Analysis of Electric Machinery*, chapter 4 (equations); E. D.
Bassett, F. M. Potter, *Capacitive excitation for induction generators*, Transactions AIEE 54 (1935) 540 (the isolated
machine finds the flux at which its saturated reactance meets the capacitance), from memory, to be checked.
"""

from typing import Callable, NamedTuple

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq, fsolve

from .machine import Machine

TURN = np.exp(2j * np.pi / 3.0)
TO_VECTOR = 2.0 / 3.0 * np.array([1.0, TURN, TURN**2])
RELATIVE = 1e-9


class Saturation(NamedTuple):
    """Knee of the main flux, crest of the phase quantity [V s], and share of the magnetising inductance beyond it."""

    knee: float
    share: float


class Terminals(NamedTuple):
    """Beside the machine, each phase to earth: [F], [S]; in front of it: [ohm], [H]."""

    capacitance: float
    conductance: float
    resistance: float
    inductance: float


class State(NamedTuple):
    """Pole currents [A] and terminal voltages [V] by phase, fluxes (stator, cages) as vectors [V s], speed [rad/s]."""

    current: np.ndarray
    voltage: np.ndarray
    flux: np.ndarray
    speed: float


class Isolation(NamedTuple):
    """Over time (m,): pole currents and phase voltages (m, 3) [A], [V]; fluxes (m, n) [V s]; torque [N m]; speed
    [rad/s]; `opened` is the time at which each pole has interrupted [s]."""

    t: np.ndarray
    current: np.ndarray
    voltage: np.ndarray
    flux: np.ndarray
    torque: np.ndarray
    speed: np.ndarray
    opened: list


def list_leakages(machine: Machine):
    """Of stator and cages. [H]"""
    return np.array([machine.stator_inductance, *(l for _, l in machine.cages)])


def _excess(machine, saturation):
    """Inverse magnetising inductance beyond the knee less that below. [1/H]"""
    return (1.0 / saturation.share - 1.0) / machine.magnetising_inductance


def magnetising_current(machine: Machine, saturation: Saturation, size):
    """Current of the main path at a length of its flux. [A]"""
    beyond = np.maximum(size - saturation.knee, 0.0)
    return size / machine.magnetising_inductance + _excess(machine, saturation) * beyond


def main_flux(machine: Machine, saturation: Saturation, flux):
    """Flux of the main path at flux linkages of shape (..., n). [V s]"""
    u, excess = 1.0 / list_leakages(machine), _excess(machine, saturation)
    pull = flux @ u
    stiffness = u.sum() + 1.0 / machine.magnetising_inductance
    size = np.abs(pull) / stiffness
    beyond = (np.abs(pull) + excess * saturation.knee) / (stiffness + excess)
    length = np.where(size > saturation.knee, beyond, size)
    return pull * (length / np.where(size > 0.0, np.abs(pull), 1.0))


def currents(machine, saturation, flux):
    """Currents of stator and cages; flux has shape (..., n). [A]"""
    return (flux - main_flux(machine, saturation, flux)[..., None]) / list_leakages(machine)


def magnetic_energy(machine, saturation, flux):
    """Energy of the fluxes. [J]"""
    size = np.abs(main_flux(machine, saturation, flux))
    main = size**2 / machine.magnetising_inductance
    main = main + _excess(machine, saturation) * np.maximum(size - saturation.knee, 0.0) ** 2
    stray = np.abs(currents(machine, saturation, flux)) ** 2 @ list_leakages(machine)
    return 0.75 * (main + stray)        # 3/2 of amplitude-invariant vectors, half for the integral


def torque(machine, saturation, flux):
    """Air-gap torque. [N m]"""
    i = currents(machine, saturation, flux)[..., 0]
    return 1.5 * machine.pole_pairs * np.imag(np.conj(flux[..., 0]) * i)


def running_state(machine, saturation, terminals, peak, frequency, slip, angle=0.0) -> State:
    """Steady state at t = 0 on a source whose phase a is peak cos(2 pi frequency t + angle). [V]"""
    w = 2.0 * np.pi * frequency
    speed = (1.0 - slip) * w / machine.pole_pairs

    def vectors(size):
        """emf, pole current, voltage and fluxes for a main flux of that length at angle zero."""
        i, flux = _steady_windings(machine, saturation, w, slip, size)
        v = machine.stator_resistance * i + 1j * w * flux[0]
        pole = i + (terminals.conductance + 1j * w * terminals.capacitance) * v
        return v + (terminals.resistance + 1j * w * terminals.inductance) * pole, pole, v, flux

    size = brentq(lambda x: abs(vectors(x)[0]) - peak, 1e-6 * peak / w, 3.0 * peak / w, xtol=1e-15)
    emf, pole, v, flux = vectors(size)
    turn = peak * np.exp(1j * angle) / emf
    return State(_phases(pole * turn), _phases(v * turn), flux * turn, speed)


def simulate(machine: Machine, saturation: Saturation, terminals: Terminals, emf: Callable | None, order, t,
             state: State, load=None) -> Isolation:
    """From a state with all poles closed (order a time) or with all open (order None), from t[0] on.

    Parameters
    ----------
    emf : callable or None
        Time [s] -> phase emfs (3,) [V]; not asked once all poles are open.
    order : float or None
        When the poles are told to open. [s]
    t : ndarray, shape (m,)
        Moments to report, ascending. [s]
    load : callable or None
        Speed [rad/s] -> torque against the rotation [N m].
    """
    closed = np.full(3, order is not None)
    opened, now = [np.nan] * 3, t[0]
    y = np.concatenate([state.current * closed, state.voltage, np.asarray(state.flux, complex).view(float),
                        [state.speed]])
    out = np.empty((len(t), len(y)))
    out[0] = y
    while now < t[-1]:
        until = min(order, t[-1]) if closed.any() and now < order else t[-1]
        waiting = closed if closed.any() and now >= order else np.zeros(3, bool)
        run = _integrate(machine, saturation, terminals, emf, load, closed, waiting, (now, until), y)
        inside = (t > now) & (t <= run.t[-1])
        out[inside] = run.sol(t[inside]).T
        now, y = run.t[-1], run.y[:, -1].copy()
        if run.status == 1:
            pole = next(k for k, at in zip(np.flatnonzero(waiting), run.t_events) if len(at))
            closed, opened[pole], y[pole] = closed & (np.arange(3) != pole), now, 0.0
    return _report(machine, saturation, t, out, opened)


def _integrate(machine, saturation, terminals, emf, load, closed, waiting, span, y):
    n = 1 + len(machine.cages)
    r = np.array([machine.stator_resistance, *(r for r, _ in machine.cages)])
    inverse, excess = 1.0 / list_leakages(machine), _excess(machine, saturation)
    stiffness = inverse.sum() + 1.0 / machine.magnetising_inductance

    def rates(time, y):
        pole, v, flux, speed = y[:3], y[3:6], y[6:-1].view(complex), y[-1]
        pull = inverse @ flux
        size = abs(pull)
        if size <= stiffness * saturation.knee:
            i = inverse * (flux - pull / stiffness)
        else:       # `currents` on the piece beyond the knee
            i = inverse * (flux - pull / size * (size + excess * saturation.knee) / (stiffness + excess))
        flux_rate = -r * i
        flux_rate[0] += TO_VECTOR @ v
        flux_rate[1:] += 1j * machine.pole_pairs * speed * flux[1:]
        moment = 1.5 * machine.pole_pairs * np.imag(np.conj(flux[0]) * i[0]) - (load(speed) if load else 0.0)
        drive = (emf(time) - terminals.resistance * pole - v) / terminals.inductance if closed.any() else pole
        rise = (pole - terminals.conductance * v - _phases(i[0])) / terminals.capacitance
        return np.concatenate([drive * closed, rise, flux_rate.view(float), [moment / machine.inertia]])

    events = [_zero_of(k) for k in np.flatnonzero(waiting)]
    # absolute: 1 uA, 10 uV, 1e-8 V s, 1e-9 rad/s, far below anything that is compared
    atol = np.concatenate([np.full(3, 1e-6), np.full(3, 1e-5), np.full(2 * n, 1e-8), [1e-9]])
    return solve_ivp(rates, span, y, method="DOP853", rtol=RELATIVE, atol=atol, dense_output=True, events=events)


def _zero_of(k):
    def current(time, y):
        return y[k]

    current.terminal = True
    return current


def _report(machine, saturation, t, y, opened):
    flux = np.ascontiguousarray(y[:, 6:-1]).view(complex)
    return Isolation(t, y[:, :3], y[:, 3:6], flux, torque(machine, saturation, flux), y[:, -1], opened)


def _phases(vector):
    return np.real(vector * np.array([1.0, TURN**2, TURN]))


def _steady_windings(machine, saturation, w, slip, size):
    """Stator current and all fluxes at a main flux of a length and angle zero: 0 = Rk ik + j s w psi_k."""
    r, l = np.array(machine.cages).T
    cages = -1j * slip * w * size / (r + 1j * slip * w * l)
    i = magnetising_current(machine, saturation, size) - cages.sum()
    return i, size + list_leakages(machine) * np.array([i, *cages])


def excited_state(machine: Machine, saturation: Saturation, terminals: Terminals, speed, guess=1.3):
    """Main flux [V s] and angular frequency [rad/s] of the self-excited steady state at a held speed [rad/s].

    The terminals take no net current: i_s + (g + j w C) v = 0.  `guess` times the knee starts the search.
    """
    rated = machine.pole_pairs * speed

    def condition(x):
        size, w = x[0] * saturation.knee, x[1] * rated
        i, flux = _steady_windings(machine, saturation, w, (w - rated) / w, size)
        v = machine.stator_resistance * i + 1j * w * flux[0]
        total = i + (terminals.conductance + 1j * w * terminals.capacitance) * v
        return np.array([total.real, total.imag]) / abs(i)

    x, _, found, _ = fsolve(condition, [guess, 0.995], xtol=1e-12, full_output=True)
    if found != 1:
        raise ArithmeticError("no self-excited state found from this guess")
    return x[0] * saturation.knee, x[1] * rated
