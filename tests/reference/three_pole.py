r"""Series R-L-C of three phases behind poles that close, and open, one after the other: exact between operations.

The load is a star with phase matrices R, L and elastance E, earthed or isolated, behind an ideal source.  Currents
flow in loops, i = N y: one loop for each closed phase of an earthed star, one less for an isolated one (its currents
sum to zero).  With the charges q,

    N^T L N dy/dt = N^T (e - R N y - E q),        dq/dt = N y,

solved by the matrix exponential with the cosine and sine of the source as two more states.  Without inductance the
currents follow from the charges at once.  A pole ordered to open interrupts at the next zero of its current.

Source: superposition and continuity of currents in inductances, charges on capacitors; any text on circuits.
"""

from typing import NamedTuple

import numpy as np
from scipy.linalg import expm
from scipy.optimize import brentq

SCAN = 400          # looks for a current zero this often a period
TURNS = np.array([0.0, -1.0, 1.0]) * 2.0 * np.pi / 3.0


class Star(NamedTuple):
    """Phase matrices (3, 3): resistance [ohm], inductance [H] (all zero: none), elastance [1/F]; whether earthed."""

    resistance: np.ndarray
    inductance: np.ndarray
    elastance: np.ndarray
    earthed: bool = True


class Source(NamedTuple):
    """Phase a is peak cos(2 pi frequency t + angle) [V], [Hz], [rad]; b and c follow."""

    peak: float
    frequency: float
    angle: float = 0.0


class Response(NamedTuple):
    """Time (m,) [s]; currents and terminal voltages of the load (m, 3) [A], [V]; phase -> time its pole opened."""

    t: np.ndarray
    current: np.ndarray
    voltage: np.ndarray
    opened: dict


class _Piece(NamedTuple):
    """One topology from `start` on, with the state (loop currents, charges, cosine, sine) at its start."""

    start: float
    closed: tuple
    loops: np.ndarray
    matrix: np.ndarray
    state: np.ndarray


def emfs(source: Source, t):
    """Phase emfs, shape (..., 3). [V]"""
    return source.peak * np.cos(2.0 * np.pi * source.frequency * np.asarray(t)[..., None] + source.angle + TURNS)


def respond(star: Star, source: Source, orders, t, charge=(0.0, 0.0, 0.0)) -> Response:
    """Response from all poles open.

    Parameters
    ----------
    orders : sequence of (time, phase, "close" or "open")
        Phase 0, 1, 2. [s]
    t : ndarray, shape (m,)
        Moments to report, ascending. [s]
    charge : three floats
        On the capacitances at the start. [C]
    """
    pieces = [_begin(star, source, min(0.0, t[0]), (), np.zeros(3), np.asarray(charge))]
    opened, waiting, queue = {}, set(), sorted(orders)
    while True:
        until = queue[0][0] if queue else t[-1]
        zero = _next_zero(star, source, pieces[-1], waiting, until)
        if zero is None and not queue:
            break
        at, closed = until, set(pieces[-1].closed)
        if zero is not None:
            at, gone = zero
            closed -= gone
            waiting -= gone
            opened.update(dict.fromkeys(gone, at))
        else:
            _, phase, action = queue.pop(0)
            waiting = waiting | {phase} if action == "open" else waiting - {phase}
            closed |= {phase} if action == "close" else set()
        last = _walk(pieces[-1], [at])
        current, held = _currents(star, pieces[-1], last)[0], last[0, -5:-2]
        pieces.append(_begin(star, source, at, tuple(sorted(closed)), current, held))
    return _report(star, source, pieces, np.asarray(t), opened)


def _loops(closed, earthed):
    """Columns: the loops that the closed poles allow, shape (3, n)."""
    if earthed:
        return np.eye(3)[:, list(closed)]
    return np.eye(3)[:, list(closed)[1:]] - np.eye(3)[:, list(closed)[:1]] if len(closed) > 1 else np.zeros((3, 0))


def _begin(star, source, start, closed, current, charge):
    loops = _loops(closed, star.earthed)
    n, w = loops.shape[1], 2.0 * np.pi * source.frequency
    waves = source.peak * np.stack([np.cos(source.angle + TURNS), -np.sin(source.angle + TURNS)], axis=1)
    drive = loops.T @ np.hstack([-star.resistance @ loops, -star.elastance, waves])     # of y, q, cos, sin
    a = np.zeros((n + 5, n + 5))
    if star.inductance.any():
        a[:n] = np.linalg.solve(loops.T @ star.inductance @ loops, drive) if n else drive
        a[n:n + 3, :n] = loops
        y = np.linalg.lstsq(loops, current, rcond=None)[0] if n else np.zeros(0)
    else:
        y = np.zeros(n)
        if n:
            a[n:n + 3, n:] = loops @ np.linalg.solve(loops.T @ star.resistance @ loops, drive[:, n:])
    a[n + 3, n + 4], a[n + 4, n + 3] = -w, w
    return _Piece(start, closed, loops, a, np.concatenate([y, charge, [np.cos(w * start), np.sin(w * start)]]))


def _walk(piece, times):
    """States at ascending times, one after the other; equal steps share their matrix exponential."""
    steps, state, now, out = {}, piece.state, piece.start, []
    for time in times:
        key = round(time - now, 13)
        if key not in steps:
            steps[key] = expm(piece.matrix * (time - now))
        state, now = steps[key] @ state, time
        out.append(state)
    return np.array(out).reshape(-1, len(piece.state))


def _currents(star, piece, states):
    n = piece.loops.shape[1]
    return states[:, :n] @ piece.loops.T if star.inductance.any() else states @ piece.matrix.T[:, n:n + 3]


def _next_zero(star, source, piece, waiting, until):
    """First current zero of a waiting closed pole before a time: (time, poles that open), or None."""
    due = [phase for phase in piece.closed if phase in waiting]
    if not due:
        return None

    def current(t):
        return _currents(star, piece, _walk(piece, [t]))[0]

    dead = [phase for phase in due if not piece.loops[phase].any()]
    if dead:
        return piece.start, set(dead)
    step = 1.0 / (SCAN * source.frequency)
    grid = np.append(np.arange(piece.start + 1e-6 * step, until, step), until)
    values = _currents(star, piece, _walk(piece, grid))[:, due]
    for k in range(len(grid) - 1):
        crossing = [phase for phase, a, b in zip(due, values[k], values[k + 1]) if a * b <= 0.0]
        if crossing:
            found = {phase: brentq(lambda time, p=phase: current(time)[p], grid[k], grid[k + 1], xtol=1e-14)
                     for phase in crossing}
            first = min(found, key=found.get)
            return found[first], {first}
    return None


def _report(star, source, pieces, t, opened):
    index = np.searchsorted([piece.start for piece in pieces], t, side="right") - 1
    currents, voltages = np.empty((len(t), 3)), np.empty((len(t), 3))
    for j, piece in enumerate(pieces):
        here = index == j
        states, n = _walk(piece, t[here]), piece.loops.shape[1]
        slopes = (states @ piece.matrix.T)[:, :n] @ piece.loops.T
        currents[here] = _currents(star, piece, states)
        drop = (currents[here] @ star.resistance.T + slopes @ star.inductance.T + states[:, -5:-2] @ star.elastance.T)
        voltages[here] = _terminal_voltages(star, emfs(source, t[here]), list(piece.closed), drop)
    return Response(t, currents, voltages, opened)


def _terminal_voltages(star, emf, poles, drop):
    """Source behind closed poles; behind open ones what the phase itself holds on top of the star point."""
    voltage = drop.copy()
    if poles and not star.earthed:
        voltage += np.mean(emf[:, poles] - drop[:, poles], axis=1, keepdims=True)
    voltage[:, poles] = emf[:, poles]
    return voltage
