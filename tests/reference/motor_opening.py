r"""A motor's breaker opens: three poles whose gaps strengthen, re-ignite and quench; exact between operations.

A bus feeds a motor over a short cable, a capacitance at either end of a resistance and an inductance; the motor is a
locked rotor, a star of resistance and inductance that may be isolated:

    emf -- R_s L_s --+-- pole --+-- R_k L_k --+-- R_m L_m -- star point
                    C_b        C_h           C_m
                     |          |             |
                   earth      earth         earth

States: source currents, bus and head voltages, cable currents, motor voltages and currents, and the cosine and sine of
the emf.  A closed pole joins the capacitances at its two ends; as it strikes they share their charge at once, and its
current is what the joint voltage asks of them.  Between operations dx/dt = A x, solved by the matrix exponential on a
grid of GRID points in the shortest period of the network as it stands; operations are located by root finding between
the points:

- contacts part: the pole waits for its current to fall to the chopping level;
- it interrupts there unless the current passes with a steeper slope than the gap can quench;
- an open gap breaks down where the voltage across it exceeds its strength, which grows in a straight line from the
  parting of the contacts up to a ceiling.  The arc has no voltage and burns until its next zero that can be quenched.

Sources: superposition, continuity of currents in inductances and of voltages on capacitances; the gap as studies of
vacuum breakers take it, a straight line from the parting and a limit of di/dt (A. Greenwood, Electrical Transients in
Power Systems, 2nd ed.; from memory, to be checked).
"""

from typing import NamedTuple

import numpy as np
from numpy.polynomial.polynomial import polyder, polyval
from scipy.linalg import expm
from scipy.optimize import brentq

GRID, BLOCK = 60, 48        # points in the shortest period; points of a block
TERMS = 12                  # of the series of the matrix exponential within a grid step: (2 pi / 60)^12 / 12! = 4e-21
TURNS = np.array([0.0, -1.0, 1.0]) * 2.0 * np.pi / 3.0
NOTHING = 1e-9              # a current below this has not begun [A]


class Circuit(NamedTuple):
    """Crest of the phase emf [V], [Hz]; elements of one phase [ohm], [H], [F]; whether the motor's star is earthed."""

    crest: float
    hz: float
    source_ohm: float
    source_h: float
    bus_f: float
    head_f: float
    cable_ohm: float
    cable_h: float
    motor_f: float
    motor_ohm: float
    motor_h: float
    earthed: bool = False


class Gap(NamedTuple):
    """Strength as the contacts part [V], its growth [V/s] and ceiling [V]; quench [A/s]; chopping level [A]."""

    start: float
    rise: float
    most: float = np.inf
    quench: float = np.inf
    chop: float = 0.0


class Opening(NamedTuple):
    """Largest voltages to earth at bus and motor, each phase (3,) [V]; operations as (time [s], phase, kind)."""

    bus: np.ndarray
    motor: np.ndarray
    operations: list

    def count(self, kind):
        """Operations of a kind, "open" or "strike"."""
        return sum(one[2] == kind for one in self.operations)


class _Piece(NamedTuple):
    """One topology: matrix, rows of the pole currents, grid step [s], powers of a grid step's matrix up to a block."""

    matrix: np.ndarray
    poles: np.ndarray
    step: float
    powers: np.ndarray


SOURCE, BUS, HEAD, CABLE, MOTOR, COIL = (slice(3 * k, 3 * k + 3) for k in range(6))
WAVES, SIZE = 18, 20


def open_poles(circuit, gap, parting, duration):
    """Follow an opening out of the steady state.

    Parameters
    ----------
    circuit : Circuit
    gap : Gap
    parting : three floats
        When the contacts of each pole part. [s]
    duration : float
        Time followed after the first contacts part. [s]

    Returns
    -------
    opening : Opening
    """
    t, pieces = min(parting), {}
    x = steady_state(circuit, t)
    until, closed, waiting = t + duration, [True] * 3, [False] * 3
    peaks, operations = np.zeros((2, 3)), []
    while t < until:
        for phase in range(3):
            if closed[phase] and not waiting[phase] and t >= parting[phase]:
                waiting[phase] = True
        if tuple(closed) not in pieces:
            pieces[tuple(closed)] = _make_piece(circuit, closed)
        piece = pieces[tuple(closed)]
        ahead = min([until, *(p for p in parting if p > t)])
        t, x, event = _walk(piece, gap, t, x, ahead, closed, waiting, parting, peaks)
        if event is None:
            continue
        phase, kind = event
        operations.append((t, phase, kind))
        closed[phase] = kind == "strike"
        if closed[phase]:
            x[BUS][phase] = x[HEAD][phase] = ((circuit.bus_f * x[BUS][phase] + circuit.head_f * x[HEAD][phase])
                                              / (circuit.bus_f + circuit.head_f))
    return Opening(peaks[0], peaks[1], operations)


def make_matrix(circuit, closed):
    """Matrix of dx/dt = A x with some poles closed, shape (20, 20)."""
    c, eye = circuit, np.eye(3)
    ring = np.diag(np.array(closed, dtype=float))
    star = eye if c.earthed else eye - 1.0 / 3.0
    a, w = np.zeros((SIZE, SIZE)), 2.0 * np.pi * c.hz
    a[SOURCE, SOURCE], a[SOURCE, BUS] = -c.source_ohm / c.source_h * eye, -eye / c.source_h
    a[SOURCE, WAVES:] = c.crest / c.source_h * np.stack([np.cos(TURNS), -np.sin(TURNS)], axis=1)
    joint = ring / (c.bus_f + c.head_f)
    a[BUS, SOURCE], a[BUS, CABLE] = joint + (eye - ring) / c.bus_f, -joint
    a[HEAD, SOURCE], a[HEAD, CABLE] = joint, -joint - (eye - ring) / c.head_f
    a[CABLE, HEAD], a[CABLE, MOTOR], a[CABLE, CABLE] = eye / c.cable_h, -eye / c.cable_h, -c.cable_ohm / c.cable_h * eye
    a[MOTOR, CABLE], a[MOTOR, COIL] = eye / c.motor_f, -eye / c.motor_f
    a[COIL, MOTOR], a[COIL, COIL] = star / c.motor_h, -c.motor_ohm / c.motor_h * eye
    a[WAVES, WAVES + 1], a[WAVES + 1, WAVES] = -w, w
    return a


def steady_state(circuit, t):
    """States of the sinusoidal steady state with all poles closed, shape (20,)."""
    a, w = make_matrix(circuit, [True] * 3), 2.0 * np.pi * circuit.hz
    inner = np.linalg.solve(1j * w * np.eye(WAVES) - a[:WAVES, :WAVES], a[:WAVES, WAVES:] @ np.array([1.0, -1j]))
    turn = np.exp(1j * w * t)
    return np.concatenate([np.real(inner * turn), [turn.real, turn.imag]])


def _make_piece(circuit, closed):
    matrix = make_matrix(circuit, closed)
    share = circuit.head_f / (circuit.bus_f + circuit.head_f)
    poles = np.zeros((3, SIZE))
    poles[:, SOURCE], poles[:, CABLE] = share * np.eye(3), (1.0 - share) * np.eye(3)
    step = 2.0 * np.pi / np.abs(np.linalg.eigvals(matrix)).max() / GRID
    one, powers = expm(matrix * step), [np.eye(SIZE)]
    for _ in range(BLOCK):
        powers.append(one @ powers[-1])
    return _Piece(matrix, poles, step, np.array(powers))


def _walk(piece, gap, t, x, ahead, closed, waiting, parting, peaks):
    """Up to a time or the first operation: (time, state, (phase, "open" or "strike") or None)."""
    while t < ahead:
        states = piece.powers @ x
        times = t + piece.step * np.arange(BLOCK + 1)
        found = _find_event(piece, gap, times, states, closed, waiting, parting)
        end = min(ahead, times[-1], np.inf if found is None else found[0])
        inside = states[times <= end]
        for row, part in enumerate((BUS, MOTOR)):
            peaks[row] = np.maximum(peaks[row], np.abs(inside[:, part]).max(axis=0))
        k = len(inside) - 1
        t, x = end, polyval(end - times[k], _expand(piece, inside[k]))
        if found is not None and found[0] <= end:
            return t, x, found[1:]
    return t, x, None


def _find_event(piece, gap, times, states, closed, waiting, parting):
    """First operation within a block: (time, phase, kind), or None."""
    first = None
    for phase in range(3):
        if closed[phase] and waiting[phase]:
            found = _find_quenched(piece, gap, times, states, phase)
            kind = "open"
        elif not closed[phase]:
            found = _find_breakdown(piece, gap, times, states, phase, parting[phase])
            kind = "strike"
        else:
            continue
        if found is not None and (first is None or found < first[0]):
            first = found, phase, kind
    return first


def _find_quenched(piece, gap, times, states, phase):
    """When the current falls to the chopping level, less steeply than the gap can quench."""
    current = states @ piece.poles[phase]
    before, after = current[:-1], current[1:]
    falls = (np.abs(before) > gap.chop + NOTHING) & ((before * after <= 0.0) | (np.abs(after) <= gap.chop))
    for k in np.flatnonzero(falls):
        sign = np.sign(before[k])

        series = sign * _expand(piece, states[k]) @ piece.poles[phase]
        since = brentq(lambda s, series=series: polyval(s, series) - gap.chop, 0.0, piece.step, xtol=1e-15)
        if abs(polyval(since, polyder(series))) <= gap.quench:
            return times[k] + since
    return None


def _find_breakdown(piece, gap, times, states, phase, parted):
    """When the voltage across the open gap first exceeds its strength."""
    margins = np.abs(_across(states)[:, phase]) - _strength(gap, times - parted)
    beyond = np.flatnonzero(margins[1:] > 0.0)
    if not len(beyond):
        return None
    k = beyond[0]
    if margins[k] >= 0.0:
        return times[k]
    series = _across(_expand(piece, states[k]))[:, phase]
    return times[k] + brentq(lambda s: abs(polyval(s, series)) - _strength(gap, times[k] + s - parted), 0.0, piece.step,
                             xtol=1e-15)


def _expand(piece, x):
    """Terms of the series of exp(A s) x in powers of s, shape (TERMS + 1, 20)."""
    terms = [x]
    for k in range(1, TERMS + 1):
        terms.append(piece.matrix @ terms[-1] / k)
    return np.array(terms)


def _across(x):
    return x[..., BUS] - x[..., HEAD]


def _strength(gap, since):
    return np.minimum(gap.start + gap.rise * since, gap.most)
