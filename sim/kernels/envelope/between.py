"""Points inside a step of the envelope engine, where a straight line between its ends would miss what went on there.

A step may span a fifth of a cycle: the offset currents of a start turn once a cycle in the frame and the method follows
them to its tolerance at the ends, but the torque that they make with the turning flux swings through its extremes in
between.  Both ends of a step have value and slope; the cubic through them,

    x(s) = (1 - s) x0 + s x1 + s (s - 1) ((1 - 2 s) (x1 - x0) + (s - 1) h f0 + s h f1),    s from 0 to 1

has the order of the method's companion.  What results rest on are mean squares of voltages and extremes and cycle means
of torque: where one of them departs from its chord by more than NEAR in the middle of a step, as many points are stored
as bring the straight lines between them within NEAR, for which k points gain 1/k^2.  A vector that merely turns in its
frame, as in the ramp of a drive, departs in angle alone and is worth no point.  States without a slope of their own
(infinite error weight) go along straight lines.  Steps below SHORT, some sixty a cycle, are not asked;
nor is the first one after a halt, where an order may have bent the slope.
Source: E. Hairer, S. P. Norsett, G. Wanner, *Solving Ordinary Differential Equations I*, section II.6, Hermite
interpolation (from memory, to be checked).
"""

import numpy as np

from sim.kernels.columns import WINDINGS
from sim.kernels.elements.machine import air_gap_torque, stator_current
from sim.kernels.jit import inner

NEAR = 4e-3             # departure from a straight line: of nominal voltage, of rated torque
MOST = 16               # points of one step
SHORT = 0.1             # rad of a rated cycle: what is shorter is a point of its own


@inner
def count_points(machines, flux, n_nodes, x0, x1, change, last, more, scale_x, amps, torque0, torque1):
    """Points that a step is worth, its end included: 1 where straight lines do.

    x0 and x1 (n,) are the states at its ends, torque0 and torque1 (A,) the torques [N m]; flux is the first column of
    flux linkages, more the length of the step over gamma h, amps (A,) the rated current of each machine as a space
    vector [A].
    """
    gap = 0.0
    for n in range(n_nodes):
        chord = 0.5 * (square(x0[n]) + square(x1[n]))
        gap = max(gap, 0.5 * abs(square(middle(x0, x1, change, more, last, n)) - chord) / (scale_x[n] * scale_x[n]))
    for m in range(amps.size):
        p = flux + WINDINGS * m
        stator = middle(x0, x1, change, more, last, p)
        i = stator_current(machines, m, stator, middle(x0, x1, change, more, last, p + 1),
                           middle(x0, x1, change, more, last, p + 2))
        chord, rated = 0.5 * (torque0[m] + torque1[m]), machines.pairs[m] * scale_x[p] * amps[m]
        gap = max(gap, abs(air_gap_torque(machines.pairs[m], stator, i) - chord) / rated)
    return int(min(np.ceil(np.sqrt(gap / NEAR)), float(MOST))) if gap > NEAR else 1


@inner
def middle(x0, x1, change, more, last, n):
    """State n half-way through the step."""
    return 0.5 * (x0[n] + x1[n]) + 0.125 * more * (change[0, n] - change[last, n])


@inner
def square(x):
    """Of a magnitude."""
    return x.real * x.real + x.imag * x.imag


@inner
def place_point(old_x, old_r, stage, w, h, d, last, share, scale_x, scale_r, between):
    """Fill `between` with the state at a share of the step from old_x and old_r to that of the stage, in its frames."""
    s, more = share, h / d
    for n in range(old_x.size):
        x0, move = old_x[n], stage.x[n] - old_x[n]
        between.x[n], between.slope_x[n] = x0 + s * move, move / h
        if scale_x[n] < np.inf:
            f0, f1 = more * stage.change_x[0, n], more * stage.change_x[last, n]
            curve = (1.0 - 2.0 * s) * move + (s - 1.0) * f0 + s * f1
            between.x[n] += s * (s - 1.0) * curve
            between.slope_x[n] += ((2.0 * s - 1.0) * curve + s * (s - 1.0) * (f0 + f1 - 2.0 * move)) / h
    for n in range(old_r.size):
        move = stage.r[n] - old_r[n]
        between.r[n] = old_r[n] + s * move
        if scale_r[n] < np.inf:
            f0, f1 = more * stage.change_r[0, n], more * stage.change_r[last, n]
            between.r[n] += s * (s - 1.0) * ((1.0 - 2.0 * s) * move + (s - 1.0) * f0 + s * f1)
    for island in range(w.size):
        between.frame_w[island] = w[island]
