"""One implicit stage of the envelope engine.

At given shaft speeds, drive currents and magnitudes of saturated fluxes (the trial scalars) everything is linear and
solved directly; Newton closes the loop on these scalars alone.  All space vectors are alpha + j beta in the frame of
their island, so d/dt stands as d/dt + j w.
"""

from typing import NamedTuple

import numpy as np

from sim.kernels.columns import (
    ENERGY_DELIVERED,
    ENERGY_DISSIPATED,
    ENERGY_SHAFT,
    ENERGY_THROUGHPUT,
    SHAFT_LOCKED,
    TRAIN_INERTIA,
    WINDINGS,
    WORK_JACOBIANS,
    WORK_NEWTON,
)
from sim.kernels.elements.machine import air_gap_torque, copper_loss, load_of, machine_stage, saturate
from sim.kernels.elements.shaft import train_stage
from sim.kernels.envelope.linear import link_push, row_times, take_current
from sim.kernels.envelope.ports import close_ports, core_current, flux_residuals, list_ports, saturation_loss
from sim.kernels.envelope.sources import drive_residuals, push_sources
from sim.kernels.jit import inner
from sim.kernels.small import solve_small

NEWTON_MOST = 8


class EnvelopeState(NamedTuple):
    """Everything that evolves; arrays are changed in place."""

    x: np.ndarray               # (n,) complex
    r: np.ndarray               # (rows,) speeds of motor and load, twists, drives (angle in the frame)
    slope_x: np.ndarray         # derivatives at the present point, for an explicit first stage
    slope_r: np.ndarray
    shaft: np.ndarray           # (A, SHAFT_STATES); speed and twist of a second mass are kept in r
    load_factor: np.ndarray     # (A,)
    seen: np.ndarray            # (D, DRIVE_SCALARS) what the drives measure, in the frames of their islands
    drive_on: np.ndarray        # (D,) int
    target_hz: np.ndarray       # (D,)
    live: np.ndarray            # (S,) int, grids switched on
    phase: np.ndarray           # (S,) angle of grids at t = 0 [rad]
    theta: np.ndarray           # (I,) frame angle [rad]
    frame_w: np.ndarray         # (I,) frame speed of the last step [rad/s]
    energy: np.ndarray          # (ENERGY_STEPS + 1,)
    peak: np.ndarray            # (N, PEAK_COLUMNS)
    limit: np.ndarray           # (K,) what each monitor allows; of cores the flux linkage [V s]
    control: np.ndarray         # (CONTROL_COLUMNS,)


class Stage(NamedTuple):
    """Scratch of a stage."""

    change_x: np.ndarray        # (s, n)
    change_r: np.ndarray        # (s, rows)
    e: np.ndarray               # (n,)
    e_r: np.ndarray
    x: np.ndarray
    r: np.ndarray
    rhs0: np.ndarray            # (N,) without sources and machines
    rhs: np.ndarray             # (N,)
    history: np.ndarray         # (M,)
    push: np.ndarray            # (B,) source of each link
    old_push: np.ndarray        # (B,) the same at the start of the step
    gamma: np.ndarray           # (A, 3, 3) inverse inductances at the trial fluxes
    ports: np.ndarray           # (A, 8)
    port_node: np.ndarray       # (A + W,) int
    port_i: np.ndarray          # (A + W,) Norton current and admittance of machines and saturated cores
    port_y: np.ndarray          # (A + W,)
    port_v: np.ndarray          # (A + W,)
    port_a: np.ndarray          # (A + W, A + W)
    torque: np.ndarray          # (A,)
    lost: np.ndarray            # (1,) what drives with a link lose [W]
    scalars: np.ndarray         # (S,) speeds, DRIVE_SCALARS of each drive, magnitudes of main-path and core fluxes
    trial: np.ndarray
    residual: np.ndarray
    base: np.ndarray
    jacobian: np.ndarray        # (S, S)
    lu: np.ndarray
    move: np.ndarray            # (S,)
    units: np.ndarray           # (S,) size of each scalar
    forward: np.ndarray         # (A,) direction of motion at the start of the step
    chosen: np.ndarray          # (S,) int, scalars that count in this step
    count: np.ndarray           # (1,) int, how many
    near: np.ndarray            # (A + W,) int, fluxes among them
    forced: np.ndarray          # (A + W,) int, fluxes found beyond their knee by a step that left them out


@inner
def respond(tables, state, linear, t, elapsed, d, stage):
    """Everything linear at the trial scalars; fills ports, torque and the residual of the scalars."""
    machines, sources, links = tables.machines, tables.sources, tables.links
    n_machines, layout = machines.node.size, tables.layout
    sizes = stage.trial[layout.size:]
    stage.lost[0] = push_sources(layout, sources, tables.drives, state, linear.w, t, elapsed, d, stage.e_r, stage.trial,
                                 stage.r, stage.push)
    for n in range(stage.rhs.size):
        stage.rhs[n] = stage.rhs0[n]
    for s in range(sources.link.size):
        b = sources.link[s]
        take_current(links, b, linear.link_y[b] * stage.push[b], stage.rhs)
    for l in range(tables.drives.front.size):
        b = tables.drives.front[l]
        if b >= 0:
            take_current(links, b, linear.link_y[b] * stage.push[b], stage.rhs)
    for m in range(n_machines):
        p = layout.flux + WINDINGS * m
        saturate(machines, m, sizes[m] if stage.near[m] == 1 else 0.0, stage.gamma[m])
        machine_stage(d, linear.w[machines.island[m]], machines.pairs[m] * stage.trial[m], stage.gamma[m],
                      machines.r[m], stage.e[p], stage.e[p + 1], stage.e[p + 2], stage.ports[m])
    n_ports = list_ports(tables, linear, d, stage.e, sizes, stage.near, stage.ports, stage.port_node, stage.port_i,
                         stage.port_y)
    if n_ports:
        close_ports(n_ports, stage.port_node, linear.z, stage.port_i, stage.port_y, stage.rhs, stage.port_a,
                    stage.port_v)
    flux_residuals(tables, linear, d, stage.e, stage.trial, stage.near, stage.ports, stage.port_v, stage.residual)
    for m in range(n_machines):
        v = stage.port_v[m]
        flux, i = stage.ports[m, 0] + stage.ports[m, 3] * v, stage.ports[m, 6] + stage.ports[m, 7] * v
        stage.torque[m] = air_gap_torque(machines.pairs[m], flux, i)
        stage.residual[m] = stage.trial[m]
        if machines.train[m, TRAIN_INERTIA] > 0.0:
            slow, twist = layout.load_speed + m, layout.twist + m
            stage.r[slow], stage.r[twist], carried = train_stage(
                machines, m, state.load_factor[m], state.shaft[m, SHAFT_LOCKED] == 1.0, d, stage.trial[m],
                stage.e_r[slow], stage.e_r[twist], state.r[slow])
            stage.residual[m] -= stage.e_r[m] + d * (stage.torque[m] - carried) / machines.j[m]
        elif state.shaft[m, SHAFT_LOCKED] == 0.0:
            load = stage.forward[m] * load_of(machines, m, state.load_factor[m], abs(stage.trial[m]))
            stage.residual[m] -= stage.e_r[m] + d * (stage.torque[m] - load) / machines.j[m]
    drive_residuals(layout, links, tables.drives, linear, d, stage)


@inner
def solve_stage(tables, state, linear, t, elapsed, d, stage, fresh, enough, counts):
    """Newton on the scalars; returns True when it converged, with everything linear at the solution.

    The Jacobian (forward differences) is kept from stage to stage while convergence stays fast.  Once a
    move is below `enough` of each scalar's size the scalars still take it, the linear part does not: its
    error is the product of the move and the step.
    """
    size, chosen = stage.count[0], stage.chosen
    phase, column, previous, iterations = (0 if fresh else size + 1), 0, np.inf, 0
    # one loop serves the columns of the Jacobian and the iterations, so that `respond` is compiled once
    for _ in range(NEWTON_MOST * (size + 2)):
        for k in range(stage.scalars.size):
            stage.trial[k] = stage.scalars[k]
        if 0 < phase <= size:
            column = chosen[phase - 1]
            stage.trial[column] += 1e-6 * stage.units[column]
        respond(tables, state, linear, t, elapsed, d, stage)
        if size == 0:
            return True
        if phase == 0:
            for k in range(size):
                stage.base[k] = stage.residual[chosen[k]]
            phase = 1
            counts[WORK_JACOBIANS] += 1
            continue
        if phase <= size:
            for k in range(size):
                gap = stage.residual[chosen[k]] - stage.base[k]
                stage.jacobian[k, phase - 1] = gap / (1e-6 * stage.units[column])
            phase += 1
            continue
        counts[WORK_NEWTON] += 1
        iterations += 1
        for r in range(size):
            stage.move[r] = stage.residual[chosen[r]]
            for c in range(size):
                stage.lu[r, c] = stage.jacobian[r, c]
        solve_small(stage.lu, stage.move, size)
        move = 0.0
        for k in range(size):
            move = max(move, abs(stage.move[k]) / stage.units[chosen[k]])
        if not np.isfinite(move) or iterations > NEWTON_MOST:
            return False
        for k in range(size):
            stage.scalars[chosen[k]] -= stage.move[k]
        if move <= enough:
            return True
        if move > 0.3 * previous:
            phase = 0
        previous = move
    return False


@inner
def finish_stage(tables, d, linear, stage):
    """Substitute back at the converged scalars."""
    links, cables, layout = tables.links, tables.cables, tables.layout
    n_machines = tables.machines.node.size
    e, x = stage.e, stage.x
    for n in range(stage.rhs.size):
        x[n] = row_times(linear.z, n, stage.rhs)
    for b in range(links.start.size):
        push = link_push(layout, links, linear, d, b, e) + stage.push[b]
        if links.start[b] >= 0:
            push += links.wf[b] * x[links.start[b]]
        if links.end[b] >= 0:
            push += links.wt[b] * x[links.end[b]]
        i = linear.link_y[b] * push
        x[layout.link + b] = i
        x[layout.capacitor + b] = linear.link_q[b] * (e[layout.capacitor + b] + d * links.s[0, b] * i)
    for k in range(tables.cores.link.size):
        if stage.near[n_machines + k] == 1:
            b = tables.cores.link[k]
            x[layout.link + b] = core_current(tables, linear, d, e, stage.scalars[layout.core + k], k,
                                              x[links.start[b]])
    for k in range(cables.start.size):
        vf, vt = x[cables.start[k]], x[cables.end[k]]
        for m in range(cables.first[k], cables.first[k + 1]):
            p = stage.history[m] - linear.kf[m] * vf - linear.kt[m] * vt
            x[layout.p + m] = p
            x[layout.q + m] = linear.cq[m] * (e[layout.q + m] + d * cables.w[0, m] * p)
        lo, size = cables.first[k], cables.first[k + 1] - cables.first[k]
        for b in range(cables.branch[k], cables.branch[k + 1]):
            y = layout.foster + cables.foster[k] + (b - cables.branch[k]) * size - lo
            for m in range(lo, lo + size):
                x[y + m] = linear.yc[b] * e[y + m] + linear.yh[b] * x[layout.p + m]
    for m in range(n_machines):
        for k in range(WINDINGS):
            x[layout.flux + WINDINGS * m + k] = stage.ports[m, k] + stage.ports[m, 3 + k] * stage.port_v[m]
        stage.r[m] = stage.scalars[m]


@inner
def add_powers(tables, closed, x, r, push, torque, lost, weight, power):
    """Add weighted source power, loss, shaft power and throughput of one point."""
    links, cables, machines, switches = tables.links, tables.cables, tables.machines, tables.switches
    layout = tables.layout
    delivered, loss, shaft = 0.0, lost, 0.0
    for n in range(tables.nodes.g.shape[1]):
        loss += tables.nodes.g[0, n] * (x[n].real ** 2 + x[n].imag ** 2)
    for b in range(links.start.size):
        i = x[layout.link + b]
        loss += links.r[0, b] * (i.real ** 2 + i.imag ** 2)
        delivered += push[b].real * i.real + push[b].imag * i.imag
    for l in range(tables.drives.link.size):        # what comes from a drive's link does not come from outside
        if tables.drives.front[l] >= 0:
            for b in (tables.drives.link[l], tables.drives.front[l]):
                i = x[layout.link + b]
                delivered -= push[b].real * i.real + push[b].imag * i.imag
    for m in range(cables.w.shape[1]):
        p, q = x[layout.p + m], x[layout.q + m]
        loss += cables.a[0, m] * (p.real ** 2 + p.imag ** 2) + cables.b[0, m] * (q.real ** 2 + q.imag ** 2)
    for k in range(cables.start.size):
        lo, size = cables.first[k], cables.first[k + 1] - cables.first[k]
        for b in range(cables.branch[k], cables.branch[k + 1]):
            y = layout.foster + cables.foster[k] + (b - cables.branch[k]) * size - lo
            root = np.sqrt(cables.alpha[0, b])
            for m in range(lo, lo + size):
                across = cables.beta[0, b] / root * x[layout.p + m] - root * x[y + m]
                loss += across.real ** 2 + across.imag ** 2
    for q in range(switches.start.size):
        if closed[q] == 1:
            across = x[switches.start[q]]
            if switches.end[q] >= 0:
                across -= x[switches.end[q]]
            loss += switches.g[q] * (across.real ** 2 + across.imag ** 2)
    for m in range(machines.node.size):
        p = layout.flux + WINDINGS * m
        loss += copper_loss(machines, m, x[p], x[p + 1], x[p + 2])
        shaft += torque[m] * r[m]
    loss += saturation_loss(tables, x)
    power[ENERGY_DELIVERED] += weight * delivered
    power[ENERGY_DISSIPATED] += weight * loss
    power[ENERGY_SHAFT] += weight * shaft
    power[ENERGY_THROUGHPUT] += weight * abs(delivered)
