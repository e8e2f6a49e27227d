"""Envelope engine: adaptive implicit Runge-Kutta steps of the space-vector equations in turning frames.

The frame of an island turns with its source; its speed is constant over a step.  A drive's angle is
kept relative to the frame, so any choice of speed is exact, and a balanced start is slow: the steps
grow until the tolerance, not the supply frequency, limits them.  Nothing is averaged.

Methods with an explicit first stage reuse the last slope (corrected when the frame changes speed);
after a discontinuity the restart companion, all stages implicit, takes one step.
"""


import numpy as np

from sim.kernels.columns import (
    CONTROL_FRESH,
    CONTROL_JUMP,
    CONTROL_LOST,
    CONTROL_STEP,
    CORE_BEYOND,
    DRIVE_SCALARS,
    DRIVE_STATES,
    ENERGY_STEPS,
    MONITOR_CORE,
    MONITOR_FRONT,
    NOTHING_TO_TELL,
    S_OUT,
    S_OUT_Q,
    SHAFT_LOCKED,
    SOURCE_DRIVE,
    SOURCE_GRID,
    TRAIN_INERTIA,
    WORK_ACCEPTED,
    WORK_FACTORISATIONS,
    WORK_REFUSED,
    X_ANGLE,
    X_SUPPLY,
    X_SUPPLY_Q,
)
from sim.kernels.control.drive import find_alarm, output_hz
from sim.kernels.control.front import find_front_alarm
from sim.kernels.control.ramp import ramp_rate
from sim.kernels.envelope.between import MOST, SHORT, count_points, place_point
from sim.kernels.envelope.linear import linear_history, set_coefficients
from sim.kernels.envelope.ports import choose_scalars, find_missed, flux_of
from sim.kernels.envelope.sampling import follow_peaks, held_speed, store_envelope
from sim.kernels.envelope.shafts import release_share, stick_and_release, torques
from sim.kernels.envelope.stage import add_powers, finish_stage, solve_stage
from sim.kernels.jit import entry, inner

NOTHING = 1e-120            # a decayed state below this is zero: subnormal numbers are slow
DONE, FULL, ALERT, STEP_FLOOR = range(4)
GOOD, LOST, MISSED = range(3)
NEWTON_SHARE = 1e-3         # the scalars of a stage are solved to this share of the tolerance
# A step this short is accepted whatever its estimate: what is left is a jump (charge shared through a closing
# contact), which no shorter step would resolve. [s]
JUMP_STEP = 2e-7
GROWTH, SHRINK, SAFETY = 5.0, 0.2, 0.9


@inner
def set_frames(tables, state, h, w):
    """Frame speed of every island over the next step: its source, else a rotor, else at rest."""
    sources, islands, machines = tables.sources, tables.islands, tables.machines
    for island in range(w.size):
        s, m = islands.source[island], islands.machine[island]
        w[island] = machines.pairs[m] * state.r[m] if m >= 0 else 0.0
        if s >= 0:
            l = sources.unit[s]
            if sources.kind[s] == SOURCE_GRID and state.live[s] == 1:
                w[island] = sources.w[s]
            elif sources.kind[s] == SOURCE_DRIVE and state.drive_on[l] == 1:
                at = tables.layout.drive + DRIVE_STATES * l
                x = state.r[at:at + DRIVE_STATES]
                rate = ramp_rate(x, state.target_hz[l], tables.drives.data[l])
                w[island] = 2.0 * np.pi * (output_hz(x, tables.drives.data[l]) + 0.5 * h * rate)


@inner
def first_changes(tables, state, d, w, change_x, change_r):
    """Explicit first stage: gamma h times the slope, corrected for a changed frame speed."""
    column, drives = tables.islands.column, tables.drives
    for n in range(change_x.size):
        shift = w[column[n]] - state.frame_w[column[n]]
        change_x[n] = d * (state.slope_x[n] - 1j * shift * state.x[n])
    for n in range(change_r.size):
        change_r[n] = d * state.slope_r[n]
    for l in range(drives.link.size):
        at, island, front = tables.layout.drive + DRIVE_STATES * l, drives.island[l], drives.front_island[l]
        change_r[at + X_ANGLE] -= d * (w[island] - state.frame_w[island])
        if front >= 0:
            shift = d * (w[front] - state.frame_w[front])
            change_r[at + X_SUPPLY] += shift * state.r[at + X_SUPPLY_Q]
            change_r[at + X_SUPPLY_Q] -= shift * state.r[at + X_SUPPLY]


@inner
def take_step(tables, closed, state, linear, stage, a, c_share, gamma, explicit_first, t, h, enough, power,
              counts):
    """All stages of one step: GOOD, LOST when a Newton did not converge, or MISSED when a flux passed its knee that was
    not among the scalars."""
    d = gamma * h
    set_frames(tables, state, h, linear.w)
    set_coefficients(tables.nodes, tables.links, tables.cables, tables.switches, closed, d, linear)
    counts[WORK_FACTORISATIONS] += 1
    s_count, n_machines, n, n_r = a.shape[0], tables.machines.node.size, state.x.size, state.r.size
    layout = tables.layout
    for k in range(power.size):
        power[k] = 0.0
    for m in range(n_machines):
        stage.scalars[m] = state.r[m]
        stage.forward[m] = 1.0 if state.r[m] > 0.0 or (state.r[m] == 0.0 and state.slope_r[m] >= 0.0) else -1.0
    for l in range(state.drive_on.size):
        for k in range(DRIVE_SCALARS):
            stage.scalars[layout.seen + DRIVE_SCALARS * l + k] = state.seen[l, k]
    for k in range(stage.near.size):
        stage.scalars[layout.size + k] = flux_of(tables, state.x, k)
    stage.count[0] = choose_scalars(tables, state.x, state.drive_on, stage.forced, stage.near, stage.chosen)
    first = 0
    if explicit_first == 1:
        first_changes(tables, state, d, linear.w, stage.change_x[0], stage.change_r[0])
        first = 1
    for k in range(first, s_count):
        for m in range(n):
            stage.e[m] = state.x[m]
        for m in range(n_r):
            stage.e_r[m] = state.r[m]
        for j in range(k):
            f = a[k, j] / gamma
            if f != 0.0:
                for m in range(n):
                    stage.e[m] += f * stage.change_x[j, m]
                for m in range(n_r):
                    stage.e_r[m] += f * stage.change_r[j, m]
        for m in range(n_r):
            stage.r[m] = stage.e_r[m]
        linear_history(layout, tables.nodes.c, tables.links, tables.cables, d, linear, stage.e, stage.rhs0,
                       stage.history)
        if k > first:
            for m in range(n_machines):
                if state.shaft[m, SHAFT_LOCKED] == 0.0 or tables.machines.train[m, TRAIN_INERTIA] > 0.0:
                    stage.scalars[m] = stage.e_r[m] + stage.change_r[k - 1, m]
        elapsed = c_share[k] * h
        if not solve_stage(tables, state, linear, t + elapsed, elapsed, d, stage, k == first, enough, counts):
            return LOST
        finish_stage(tables, d, linear, stage)
        if find_missed(tables, stage.x, stage.near, stage.forced):
            return MISSED
        for m in range(n_machines):
            if state.shaft[m, SHAFT_LOCKED] == 1.0 and tables.machines.train[m, TRAIN_INERTIA] == 0.0:
                stage.r[m] = 0.0
        add_powers(tables, closed, stage.x, stage.r, stage.push, stage.torque, stage.lost[0],
                   a[s_count - 1, k] * h, power)
        for m in range(n):
            stage.change_x[k, m] = stage.x[m] - stage.e[m]
        for m in range(n_r):
            stage.change_r[k, m] = stage.r[m] - stage.e_r[m]
    return GOOD


@inner
def error_norm(change_x, change_r, x, error, gamma, scale_x, scale_r):
    """Largest weighted difference between the method and its companion."""
    worst = 0.0
    for n in range(x.size):
        gap = 0.0j
        for k in range(error.size):
            gap += error[k] / gamma * change_x[k, n]
        worst = max(worst, abs(gap) / (scale_x[n] + abs(x[n])))
    for n in range(scale_r.size):
        gap_r = 0.0
        for k in range(error.size):
            gap_r += error[k] / gamma * change_r[k, n]
        worst = max(worst, abs(gap_r) / scale_r[n])
    return worst


@inner
def accept(layout, state, stage, w, d, h, last):
    """Move the state to the end of the step; slopes come from the last stage."""
    for n in range(state.x.size):
        small = abs(stage.x[n].real) + abs(stage.x[n].imag) < NOTHING
        state.x[n] = 0.0j if small else stage.x[n]
        state.slope_x[n] = stage.change_x[last, n] / d
    for n in range(state.r.size):
        state.r[n] = stage.r[n]
        state.slope_r[n] = stage.change_r[last, n] / d
    for l in range(state.drive_on.size):
        for k in range(DRIVE_SCALARS):
            state.seen[l, k] = stage.scalars[layout.seen + DRIVE_SCALARS * l + k]
    state.control[CONTROL_LOST] = stage.lost[0]
    for k in range(state.theta.size):
        state.theta[k] += w[k] * h
        state.frame_w[k] = w[k]


@inner
def find_alert(tables, state):
    """First monitor with something to tell at the present point, and its code; -1 when there is none."""
    monitors, layout = tables.monitors, tables.layout
    for k in range(monitors.kind.size):
        kind, item, code = monitors.kind[k], monitors.item[k], NOTHING_TO_TELL
        if kind == MONITOR_CORE:
            beyond = flux_of(tables, state.x, tables.machines.node.size + item) > state.limit[k]
            code = CORE_BEYOND if beyond else NOTHING_TO_TELL
        else:
            at, data = layout.drive + DRIVE_STATES * item, tables.drives.data[item]
            x = state.r[at:at + DRIVE_STATES]
            if kind == MONITOR_FRONT:
                code = find_front_alarm(x, data)
            elif state.drive_on[item] == 1:
                amps = abs(complex(state.seen[item, S_OUT], state.seen[item, S_OUT_Q])) / np.sqrt(3.0)
                code = find_alarm(x, amps, data)
        if code != NOTHING_TO_TELL:
            return k, code
    return -1, NOTHING_TO_TELL


@inner
def next_step(state, h_most, t, t_end):
    """Step length from the proposal: lands on t_end without a sliver left over."""
    h = min(state.control[CONTROL_STEP], h_most)
    if t + 1.01 * h >= t_end:
        return t_end - t
    if t + 2.0 * h > t_end:
        return 0.5 * (t_end - t)
    return h


@inner
def store_points(tables, state, between, closed, stage, old_x, old_r, t, h, d, last, scale_x, scale_r, count, push, out,
                 rows):
    """Follow and store the points of a step that was accepted and ends at t, its end last."""
    for k in range(1, count + 1):
        share = k / count
        at = t - (1.0 - share) * h
        for b in range(push.size):
            push[b] = stage.old_push[b] + share * (stage.push[b] - stage.old_push[b])
        if k < count:
            place_point(old_x, old_r, stage, state.frame_w, h, d, last, share, scale_x, scale_r, between)
        point = between if k < count else state
        follow_peaks(point.x, at, state.peak)
        store_envelope(tables, point, closed, push, at, out, rows[0])
        rows[0] += 1
    for b in range(push.size):
        stage.old_push[b] = stage.push[b]


@entry
def envelope_steps(tables, closed, state, between, linear, stage, scale_x, scale_r, amps, main, main_error,
                   explicit_first, error_order, start, start_error, gamma, tolerance, t, t_end, h_most, out, counts):
    """Integrate from t towards t_end until it is reached or the samples are full.

    Parameters
    ----------
    closed : ndarray of int, shape (Q,)
        Position of every switch, all three poles together.
    between : EnvelopeState
        Scratch of a point inside a step: x, r, slope_x and frame_w of its own, else shared with `state`.
    scale_x, scale_r : ndarray
        An error of tolerance * (scale + magnitude) counts as 1.
    amps : ndarray, shape (A,)
        Rated current of each machine as a space vector. [A]
    main, start : ndarray, shape (s, s)
        Stage tables of the running method and of its restart companion (same gamma).
    counts : ndarray of int, shape (WORK_COLUMNS,)
        Added to.

    Returns
    -------
    status, time reached, rows stored, monitor, what it tells
    """
    machines, layout = tables.machines, tables.layout
    n_machines, n_nodes = machines.node.size, tables.nodes.c.shape[1]
    power, push = np.zeros(ENERGY_STEPS), np.zeros(stage.push.size, dtype=np.complex128)
    old_x, old_r = np.zeros_like(state.x), np.zeros_like(state.r)
    old_torque, old_speed = np.zeros(n_machines), np.zeros(n_machines)
    shortest = SHORT / tables.islands.w.max()
    main_c, start_c = main.sum(axis=1), start.sum(axis=1)
    rows, known = np.zeros(1, dtype=np.int64), False     # known: no halt since the last slope
    floor = 1e-12 * max(1.0, abs(t_end))
    while t < t_end - floor:
        if rows[0] + MOST > out.t.size:
            return FULL, t, rows[0], -1, NOTHING_TO_TELL
        h = next_step(state, h_most, t, t_end)
        if h < floor:
            return STEP_FLOOR, t, rows[0], -1, NOTHING_TO_TELL
        torques(tables, state.x, old_torque)
        for m in range(n_machines):
            old_speed[m] = held_speed(machines, layout, m, state.r)
        fresh = state.control[CONTROL_FRESH] > 0.0
        a, c_share, weights = (start, start_c, start_error) if fresh else (main, main_c, main_error)
        explicit = 0 if fresh else explicit_first
        outcome = take_step(tables, closed, state, linear, stage, a, c_share, gamma, explicit, t, h,
                            NEWTON_SHARE * tolerance, power, counts)
        if outcome == MISSED:
            continue
        good, error = outcome == GOOD, np.inf
        if good:
            gap = error_norm(stage.change_x, stage.change_r, stage.x, weights, gamma, scale_x, scale_r)
            error = gap / tolerance
        if not (error <= 1.0 or (good and h <= max(JUMP_STEP, state.control[CONTROL_JUMP]))):
            factor = SAFETY * error ** (-1.0 / (error_order + 1)) if error < 1e8 else 0.0
            state.control[CONTROL_STEP] = h * max(SHRINK, factor)
            counts[WORK_REFUSED] += 1
            continue
        share = release_share(machines, layout, state, stage.r, stage.torque, old_torque)
        if share < 0.98 and h > 1e-6:
            state.control[CONTROL_STEP] = h * max(share, 0.02)
            counts[WORK_REFUSED] += 1
            continue
        last = a.shape[0] - 1
        if explicit == 1:
            add_powers(tables, closed, state.x, state.r, stage.old_push, old_torque, state.control[CONTROL_LOST],
                       a[last, 0] * h, power)
        count = 1
        if explicit == 1 and known and h > shortest:
            count = count_points(machines, layout.flux, n_nodes, state.x, stage.x, stage.change_x, last, 1.0 / gamma,
                                 scale_x, amps, old_torque, stage.torque)
            if count > 1:
                old_x[:], old_r[:] = state.x, state.r
        for k in range(stage.forced.size):
            stage.forced[k] = 0
        accept(layout, state, stage, linear.w, gamma * h, h, last)
        known = True
        t += h
        counts[WORK_ACCEPTED] += 1
        factor = min(GROWTH, SAFETY * max(error, 1e-8) ** (-1.0 / (error_order + 1)))
        if h >= 0.5 * state.control[CONTROL_STEP] or factor < 1.0:
            state.control[CONTROL_STEP] = h * factor
        state.control[CONTROL_FRESH] = 0.0
        state.control[CONTROL_JUMP] = 0.0
        for k in range(4):
            state.energy[k] += power[k]
        if stick_and_release(machines, layout, state, stage.torque, old_speed, t):
            state.control[CONTROL_FRESH] = 1.0
            state.control[CONTROL_STEP] = min(state.control[CONTROL_STEP], 1e-3)
        store_points(tables, state, between, closed, stage, old_x, old_r, t, h, gamma * h, last, scale_x, scale_r,
                     count, push, out, rows)
        monitor, code = find_alert(tables, state)
        if monitor >= 0:
            return ALERT, t, rows[0], monitor, code
    return DONE, t, rows[0], -1, NOTHING_TO_TELL
