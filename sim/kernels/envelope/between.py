"""Points inside a step of the envelope engine, where a straight line between its ends would miss what went on there.

A step may span a fifth of a cycle: the offset currents of a start turn once a cycle in the frame and the method follows
them to its tolerance at the ends, but the torque that they make with the turning flux swings through its extremes in
between.  Both ends of a step have value and slope; the cubic through them,

    x(s) = (1 - s) x0 + s x1 + s (s - 1) ((1 - 2 s) (x1 - x0) + (s - 1) h f0 + s h f1),    s from 0 to 1

has the order of the method's companion.  From its ends a straight line departs by |h f1 - h f0| / 8 at most, and by
1/k^2 of that between k points: as many are taken as bring every node voltage and machine flux within NEAR of its scale.
States without a slope of their own (infinite error weight) go along straight lines.
Source: E. Hairer, S. P. Norsett, G. Wanner, *Solving Ordinary Differential Equations I*, section II.6, Hermite
interpolation (from memory, to be checked).
"""

import numpy as np

from sim.kernels.columns import WINDINGS
from sim.kernels.jit import inner

NEAR = 2e-3             # departure of a straight line between two points, of each state's scale
MOST = 16               # points of one step


@inner
def count_points(layout, n_nodes, n_machines, stage, h_over_d, last, scale_x):
    """Points that a step is worth, its end included: 1 where straight lines do."""
    worst = 0.0
    for n in range(n_nodes):
        worst = max(worst, bend(stage, n, last) / scale_x[n] ** 2)
    for n in range(layout.flux, layout.flux + WINDINGS * n_machines):
        worst = max(worst, bend(stage, n, last) / scale_x[n] ** 2)
    gap = 0.125 * h_over_d * np.sqrt(worst)
    return int(min(np.ceil(np.sqrt(gap / NEAR)), float(MOST))) if gap > NEAR else 1


@inner
def bend(stage, n, last):
    """Square of the difference between the changes of state n at both ends."""
    gap = stage.change_x[last, n] - stage.change_x[0, n]
    return gap.real * gap.real + gap.imag * gap.imag


@inner
def place_point(state, stage, w, h, d, last, share, scale_x, scale_r, between):
    """Fill `between` with the state at a share of the step that is about to be accepted, in its frames."""
    s, more = share, h / d
    for n in range(state.x.size):
        x0, move = state.x[n], stage.x[n] - state.x[n]
        between.x[n], between.slope_x[n] = x0 + s * move, move / h
        if scale_x[n] < np.inf:
            f0, f1 = more * stage.change_x[0, n], more * stage.change_x[last, n]
            curve = (1.0 - 2.0 * s) * move + (s - 1.0) * f0 + s * f1
            between.x[n] += s * (s - 1.0) * curve
            between.slope_x[n] += ((2.0 * s - 1.0) * curve + s * (s - 1.0) * (f0 + f1 - 2.0 * move)) / h
    for n in range(state.r.size):
        move = stage.r[n] - state.r[n]
        between.r[n] = state.r[n] + s * move
        if scale_r[n] < np.inf:
            f0, f1 = more * stage.change_r[0, n], more * stage.change_r[last, n]
            between.r[n] += s * (s - 1.0) * ((1.0 - 2.0 * s) * move + (s - 1.0) * f0 + s * f1)
    for island in range(w.size):
        between.frame_w[island] = w[island]
