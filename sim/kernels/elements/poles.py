"""Breaker poles and faults: voltage and current of a pole, its loss, its current zero, its recovery."""

import numpy as np

from sim.kernels.jit import inner

# columns of `race`
(RACE_START, RACE_RISE, RACE_MOST, RACE_QUENCH) = range(4)
# columns of `recovery`: largest voltage across an open pole, its time
(RECOVERY_PEAK, RECOVERY_TIME) = range(2)


@inner
def phase_value(clarke, x, n, phase):
    """Phase quantity of column n. [unit of x]"""
    return clarke[0, phase] * x[0, n] + clarke[1, phase] * x[1, n] + clarke[2, phase] * x[2, n]


@inner
def star_voltage(switches, pole_g, clarke, x, q):
    """Voltage of the point where the poles of a fault meet. [V]"""
    pushed, total = 0.0, switches.star[q]
    for phase in range(3):
        pushed += pole_g[q, phase] * phase_value(clarke, x, switches.start[q], phase)
        total += pole_g[q, phase]
    return pushed / total if total > 0.0 else 0.0


@inner
def pole_voltage(switches, pole_g, clarke, x, q, phase):
    """Voltage across one pole, from the start node to the end node or the star point. [V]"""
    across = phase_value(clarke, x, switches.start[q], phase)
    if switches.star[q] >= 0.0:
        return across - star_voltage(switches, pole_g, clarke, x, q)
    return across - phase_value(clarke, x, switches.end[q], phase)


@inner
def pole_current(switches, pole_g, clarke, x, q, phase):
    """Current from the start to the end node through one pole. [A]"""
    if pole_g[q, phase] == 0.0:
        return 0.0
    return pole_g[q, phase] * pole_voltage(switches, pole_g, clarke, x, q, phase)


@inner
def pole_loss(switches, pole_g, clarke, x):
    """Power in the contacts of all poles and in the resistance from a fault to earth. [W]"""
    loss = 0.0
    for q in range(switches.start.size):
        for phase in range(3):
            if pole_g[q, phase] > 0.0:
                i = pole_current(switches, pole_g, clarke, x, q, phase)
                loss += i * i / pole_g[q, phase]
        if 0.0 < switches.star[q] < np.inf:
            loss += switches.star[q] * star_voltage(switches, pole_g, clarke, x, q) ** 2
    return loss


@inner
def find_zero(switches, pole_g, clarke, opening, chop, x_old, x_new, h):
    """First pole that waits and interrupts in this step: (switch, phase, share of the step).

    A pole interrupts when its current falls to the chopping level; where the gap's race is on, not at a zero that the
    current passes more steeply than it can quench.
    """
    best, best_q, best_phase = 2.0, -1, -1
    for q in range(opening.shape[0]):
        for phase in range(3):
            if opening[q, phase] == 0:
                continue
            i0 = pole_current(switches, pole_g, clarke, x_old, q, phase)
            i1 = pole_current(switches, pole_g, clarke, x_new, q, phase)
            share = 2.0
            if abs(i0) <= chop[q]:
                share = 0.0
            elif i0 * i1 <= 0.0 or abs(i1) <= chop[q]:
                share = (abs(i0) - chop[q]) / abs(i0 - i1)
            steep = switches.race[q, RACE_RISE] > 0.0 and abs(i1 - i0) > switches.race[q, RACE_QUENCH] * h
            if share < best and not steep:
                best, best_q, best_phase = share, q, phase
    return best_q, best_phase, best


@inner
def follow_recovery(switches, pole_g, clarke, separated, x, t, recovery):
    """Keep the largest voltage across every open pole; the first gap that breaks down, (-1, -1) when none does."""
    weak_q, weak_phase = -1, -1
    for q in range(separated.shape[0]):
        for phase in range(3):
            if pole_g[q, phase] > 0.0 or not np.isfinite(separated[q, phase]):
                continue
            across = abs(pole_voltage(switches, pole_g, clarke, x, q, phase))
            if across > recovery[q, phase, RECOVERY_PEAK]:
                recovery[q, phase, RECOVERY_PEAK], recovery[q, phase, RECOVERY_TIME] = across, t
            if switches.race[q, RACE_RISE] > 0.0:
                grown = switches.race[q, RACE_START] + switches.race[q, RACE_RISE] * (t - separated[q, phase])
                if across > min(grown, switches.race[q, RACE_MOST]):
                    weak_q, weak_phase = q, phase
    return weak_q, weak_phase
