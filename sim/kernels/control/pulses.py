"""Pulse patterns of a bridge: exact averages over a step, so that no volt-second is lost whatever the step.

The reference m (cos a - q cos 3a) of each phase is compared with a triangular carrier (natural sampling); the average
of the switched voltage over a step follows from the moments at which the two cross, found within the step.  A dead
time T delays rising edges while the current flows out of the leg and falling edges while it flows in.

    two levels      above the carrier +1, below it -1
    three levels    two carriers of half height in phase, one above the other (phase disposition)
    N cells         each with the reference and its negative against a carrier of its own, shifted by pi/N; the sum
                    of the cells over N

Amplitudes are in units of half the direct voltage.  Valid while the reference is flatter than the carrier:
m w (1 + 9 q) below 4 carrier frequencies.
Sources: D. G. Holmes, T. A. Lipo, *Pulse Width Modulation for Power Converters*, 2003, chapters 3, 11 and 8; third
harmonic of one sixth: chapter 5 (from memory, to be checked).
"""

import numpy as np

from sim.kernels.columns import PULSE_DEAD, PULSE_HZ, PULSE_LEVELS, PULSE_PHASE, PULSE_THIRD
from sim.kernels.jit import entry

SOLVED, MOST = 1e-13, 60
SMOOTH = 0.01           # of rated current: below it the mean loss of a dead time goes to zero with the current


@entry
def dead_time_loss(row, direct, rated, current):
    """Voltage that a dead time takes from the fundamental of a bridge, on the average over a carrier period. [V]

    In every carrier period one edge of a leg comes late by T, the one that would drive the current on.  The leg loses
    the volt-seconds of one of its levels, so that its mean falls by

        V = T f_c U s sign(i)       s = 1 for two levels and for cells, 1/2 for three levels

    with U the direct voltage; a cell loses by both of its legs, and U is twice the sum of a phase's cells.  The sign of
    a sinusoid has the fundamental 4/pi, along the current: as a space vector

        sqrt(3/2) (4/pi) V i / |i|

    Around no current the ripple, which has no place here, changes its sign within a carrier period, and the mean goes
    through zero: |i| is taken as sqrt(|i|^2 + (SMOOTH rated)^2).  Valid while the pulses are longer than the dead time
    (three levels: m above T f_c); harmonics of the sign, the 5th and the 7th first, are left out.

    Parameters
    ----------
    row : ndarray, shape (PULSE_COLUMNS,)
    direct : float
        As for `bridge_average`. [V]
    rated : float
        Rated RMS current. [A]
    current : complex
        Space vector of the output current. [A]

    Returns
    -------
    loss : complex
        Space vector, along the current; to be taken from the voltage asked for. [V]

    Sources
    -------
    D. G. Holmes, T. A. Lipo, *Pulse Width Modulation for Power Converters*, 2003, on dead time (from memory, to be
    checked); the factors follow from `leg_share` above: one delayed edge of the leg's own step each carrier period.

    Checked by
    ----------
    tests/kernels/control/test_pulses.py, tests/physics/drives/test_dead_time.py
    """
    height = 0.5 if row[PULSE_LEVELS] == 3.0 else 1.0
    mean = row[PULSE_DEAD] * row[PULSE_HZ] * height * direct
    small = np.sqrt(3.0) * SMOOTH * rated
    size = np.sqrt(current.real * current.real + current.imag * current.imag + small * small)
    return np.sqrt(1.5) * (4.0 / np.pi) * mean / size * current


@entry
def carrier(x):
    """Triangle of period 1 between -1 and 1, at its top at 0."""
    return 4.0 * abs(x - np.floor(x) - 0.5) - 1.0


@entry
def reference(m, third, angle):
    """Reference of one phase at an angle."""
    return m * (np.cos(angle) - third * np.cos(3.0 * angle))


@entry
def find_crossing(m, third, angle, w, low, high, hz, phase, centre, height, t, below):
    """Moment between two vertices of the carrier at which the reference meets it: false position, Illinois rule."""
    above = gap_at(m, third, angle, w, high, hz, phase, centre, height, t)
    side, x = 0, low
    for _ in range(MOST):
        x = (low * above - high * below) / (above - below)
        value = gap_at(m, third, angle, w, x, hz, phase, centre, height, t)
        if abs(value) < SOLVED or high - low < SOLVED * (high - t + 1e-9):
            break
        if value * above > 0.0:
            high, above = x, value
            if side == 1:
                below *= 0.5
            side = 1
        else:
            low, below = x, value
            if side == -1:
                above *= 0.5
            side = -1
    return x


@entry
def gap_at(m, third, angle, w, x, hz, phase, centre, height, t):
    """Reference less carrier at moment x; `angle` is that of the reference at t."""
    return reference(m, third, angle + w * (x - t)) - centre - height * carrier(hz * x + phase)


@entry
def overlap(low, high, t, h):
    """Length of what two spans have in common, the second from t to t + h."""
    return max(0.0, min(high, t + h) - max(low, t))


@entry
def time_high(asked, out, held, low, high, t, h):
    """Part of the span from low to high, within [t, t + h], in which a leg stands high; asked for high or low. [s]

    Until `held` a delayed edge keeps the leg as it was, or to the end of the span if that comes first: a pulse shorter
    than the dead time is lost, and no more than that.
    """
    if asked > 0.0:
        return overlap(max(low, held), high, t, h) if out > 0.0 else overlap(low, high, t, h)
    return overlap(low, min(high, held), t, h) if out < 0.0 else 0.0


@entry
def time_above(m, third, angle, w, hz, phase, centre, height, dead, out, t, h):
    """How long within [t, t + h] a leg stands high: its reference above a carrier, edges delayed by the dead time. [s]

    out is positive for a current out of the leg, negative for one into it.
    """
    total, held, low = 0.0, t - dead, t - dead
    vertex = np.floor(2.0 * (hz * low + phase) + 1e-9) + 1.0
    value = gap_at(m, third, angle, w, low, hz, phase, centre, height, t)
    while low < t + h:
        high = min((0.5 * vertex - phase) / hz, t + h)
        vertex += 1.0
        if high <= low:
            continue
        end = gap_at(m, third, angle, w, high, hz, phase, centre, height, t)
        if value * end < 0.0:
            x = find_crossing(m, third, angle, w, low, high, hz, phase, centre, height, t, value)
            total += time_high(value, out, held, low, x, t, h)
            if end * out > 0.0:
                held = x + dead
            total += time_high(end, out, held, x, high, t, h)
        else:
            total += time_high(value + end, out, held, low, high, t, h)
        low, value = high, end
    return total


@entry
def leg_share(row, m, angle, w, out, t, h):
    """Average of one leg over [t, t + h], in units of half the direct voltage."""
    hz, phase, third, dead = row[PULSE_HZ], row[PULSE_PHASE] / (2.0 * np.pi), row[PULSE_THIRD], row[PULSE_DEAD]
    if row[PULSE_LEVELS] == 2.0:
        return 2.0 * time_above(m, third, angle, w, hz, phase, 0.0, 1.0, dead, out, t, h) / h - 1.0
    if row[PULSE_LEVELS] == 3.0:
        upper = time_above(m, third, angle, w, hz, phase, 0.5, 0.5, dead, out, t, h)
        lower = time_above(m, third, angle, w, hz, phase, -0.5, 0.5, dead, out, t, h)
        return (upper + lower) / h - 1.0
    cells = int(-row[PULSE_LEVELS])
    total = 0.0
    for k in range(cells):
        shift = phase + 0.5 * k / cells
        total += time_above(m, third, angle, w, hz, shift, 0.0, 1.0, dead, out, t, h)
        total -= time_above(-m, third, angle, w, hz, shift, 0.0, 1.0, dead, -out, t, h)
    return total / (cells * h)


@entry
def bridge_average(row, volts, angle, w, direct, current, t, h):
    """Average space vector and zero sequence of a bridge over [t, t + h]. [V]

    Parameters
    ----------
    row : ndarray, shape (PULSE_COLUMNS,)
    volts : float
        Line-to-line RMS of the fundamental asked for. [V]
    angle, w : float
        Of its space vector at t [rad], angular frequency [rad/s].
    direct : float
        Direct voltage; of cells twice the sum of a phase's, which no two terminals exceed either. [V]
    current : complex
        Space vector of the output current, for the dead time. [A]
    """
    m = np.sqrt(2.0 / 3.0) * volts / (0.5 * direct)
    vector, zero = 0.0j, 0.0
    for k in range(3):
        turn = np.exp(2j * np.pi * k / 3.0)
        out = (current * np.conj(turn)).real
        share = 0.5 * direct * leg_share(row, m, angle - 2.0 * np.pi * k / 3.0, w, out, t, h)
        vector += np.sqrt(2.0 / 3.0) * turn * share
        zero += share / np.sqrt(3.0)
    return vector, zero
