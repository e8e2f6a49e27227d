"""Waveform engine: fixed steps of a diagonally implicit method in Clarke coordinates.

Every step ends with a test that the numbers are finite, a look for current zeros of poles that wait,
and the peaks of every node; every stride-th step is stored.  The stepping kernel is one long function
with plain local arrays on purpose: gathered in a tuple and handed to a function per stage, the same work
took twice the time (reference counts on every access).
"""

import numpy as np

from sim.kernels.columns import (
    ENERGY_DELIVERED,
    ENERGY_DISSIPATED,
    ENERGY_SHAFT,
    ENERGY_STEPS,
    ENERGY_THROUGHPUT,
    SHAFT_LOCKED,
    TRAIN_INERTIA,
    WINDINGS,
)
from sim.kernels.elements.machine import air_gap_torque, copper_loss, load_of, machine_stage, main_flux, saturate
from sim.kernels.elements.poles import find_zero, follow_recovery, pole_loss
from sim.kernels.elements.ports import follow_ports, inject_ports, open_arguments, port_loss, settle_ports
from sim.kernels.elements.shaft import advance_shaft, advance_train
from sim.kernels.jit import entry
from sim.kernels.waveform.bridges import (
    ROUNDS,
    choose_bridges,
    finish_bridges,
    guess_bridges,
    keep_currents,
    meet_ports,
    settle_bridges,
)
from sim.kernels.waveform.sampling import follow_chatter, follow_peaks, store_sample
from sim.kernels.waveform.sources import exchanged_power, find_alert, follow_drives, push_sources
from sim.kernels.waveform.stage import (
    cable_history,
    cable_update,
    close_ports,
    link_history,
    link_update,
    multiply,
    node_loss,
)

NOTHING = 1e-120            # a decayed state below this is zero: subnormal numbers are slow
DONE, POLE_ZERO, ALERT, DIVERGED, REIGNITION, UNSETTLED = range(6)


@entry
def waveform_steps(tables, coef, clarke, a, c_share, state, watch, t0, steps, stride, out, quiet, scratch, bridges):
    """Take up to `steps` steps of length coef.h from t0.

    Parameters
    ----------
    a, c_share : ndarray
        Stage table of a method with all-implicit stages.
    stride : int
        Every stride-th step is stored.
    quiet : ndarray, shape (Q,)
        A waiting pole whose current is below this opens at once. [A]
    scratch : PortScratch
    bridges : BridgeScratch

    Returns
    -------
    status, steps taken, rows stored, switch or monitor, phase or what it tells, share of the step
        At POLE_ZERO the step is not taken: the caller repeats it shortened to the zero.  At REIGNITION it is taken, and
        the pole named has broken down.
    """
    h, d = coef.h, coef.d
    s_count = a.shape[0]
    nodes, links, cables, machines = tables.nodes, tables.links, tables.cables, tables.machines
    switches, ports, layout = tables.switches, tables.ports, tables.layout
    n_nodes, n_links, n_machines = nodes.c.shape[1], links.start.size, machines.node.size
    n, n_drives, at_psi = state.x.shape[1], state.drive.shape[0], layout.flux
    change = np.zeros((s_count, 3, n))
    change_drive = np.zeros((s_count, n_drives, state.drive.shape[1]))
    e, x = np.zeros((3, n)), np.zeros((3, n))
    drive, e_drive = state.drive.copy(), np.zeros_like(state.drive)
    emf, common, push_zero = np.zeros(n_drives, dtype=np.complex128), np.zeros(n_drives), np.zeros(n_links)
    norton = np.zeros((n_machines, 8), dtype=np.complex128)
    n_ports = ports.node.size
    u_open, argument, slack = np.zeros(n_ports), np.zeros(n_ports), np.zeros(n_ports)
    current, taken, taken_step = np.zeros(n_ports), np.zeros(n_ports), np.zeros(n_ports)
    gamma, admittance = np.zeros((n_machines, 3, 3)), np.zeros(n_machines, dtype=np.complex128)
    rhs, j = np.zeros((3, n_nodes)), np.zeros((3, n_links))
    history = np.zeros((3, cables.w.shape[1]))
    small_a, small_b = np.zeros((2 * n_machines, 2 * n_machines)), np.zeros(2 * n_machines)
    push = np.zeros(n_links, dtype=np.complex128)
    gain, torque, power = np.zeros(n_machines), np.zeros(n_machines), np.zeros(ENERGY_STEPS)
    rows = np.zeros(1, dtype=np.int64)
    bridged = bridges.link.size > 0
    if bridged:
        choose_bridges(tables, state, coef, bridges)
    for step in range(steps):
        t = t0 + step * h
        for k in range(power.size):
            power[k] = 0.0
        for m in range(n_machines):
            gain[m] = 0.0
        for p in range(n_ports):
            taken_step[p] = 0.0
        for k in range(s_count):
            weight = a[s_count - 1, k] * h
            for c in range(3):
                for m in range(n):
                    e[c, m] = state.x[c, m]
                for i in range(k):
                    f = a[k, i] / a[k, k]
                    for m in range(n):
                        e[c, m] += f * change[i, c, m]
            push_sources(tables, state, a, k, c_share[k], t, h, d, change_drive, e_drive, drive, emf, common, push,
                         push_zero)
            if bridged:
                guess_bridges(state, tables.drives.data, c_share[k] * h, push, bridges)
            for c in range(3):
                for m in range(n_nodes):
                    rhs[c, m] = nodes.c[0 if c < 2 else 1, m] / d * e[c, m]
            cable_history(layout, cables, coef, e, rhs, history)
            link_history(layout, links, coef.link_y, d, push, push_zero, e, rhs, j)
            for m in range(n_machines):
                speed = state.speed[m] + c_share[k] * h * state.acceleration[m]
                p = at_psi + WINDINGS * m
                saturate(machines, m, state.flux[m, 0] + c_share[k] * h * state.flux[m, 1], gamma[m])
                machine_stage(d, 0.0, machines.pairs[m] * speed, gamma[m], machines.r[m],
                              complex(e[0, p], e[1, p]), complex(e[0, p + 1], e[1, p + 1]),
                              complex(e[0, p + 2], e[1, p + 2]), norton[m])
            if n_machines:
                close_ports(machines.node, coef.z, norton, rhs, small_a, small_b)
            if bridged:
                settle_bridges(tables, state, coef, d, e_drive, norton, push, rhs, j, bridges)
            multiply(coef.z, rhs, x)
            beyond = open_arguments(ports, links, coef.link_y, j, x, u_open, argument, slack)
            if beyond:
                for m in range(n_machines):
                    admittance[m] = norton[m, 7]
                for turn in range(ROUNDS if bridged else 1):
                    if bridged:
                        keep_currents(rhs, j, bridges)
                    if not settle_ports(ports, links, coef, admittance, u_open, argument, slack, current, scratch):
                        return UNSETTLED, step, rows[0], -1, -1, 0.0
                    inject_ports(ports, links, coef.link_y, machines.node, scratch, rhs, j)
                    multiply(coef.z, rhs, x)
                    if not bridged or turn == ROUNDS - 1 or meet_ports(tables, state, coef, d, e_drive, push, x, rhs, j,
                                                                       bridges):
                        break
                    multiply(coef.z, rhs, x)
                    open_arguments(ports, links, coef.link_y, j, x, u_open, argument, slack)
            delivered, loss = link_update(layout, links, coef.link_y, d, push, push_zero, e, j, x)
            if bridged:
                loss += finish_bridges(tables, state, k, d, e_drive, drive, change_drive, push, push_zero, x, bridges)
                delivered -= exchanged_power(tables, push, push_zero, x)
            loss += cable_update(layout, cables, coef, e, history, x)
            loss += node_loss(nodes.g, x) + pole_loss(switches, coef.pole_g, clarke, x)
            if beyond:
                loss += port_loss(layout, ports, links, x, current, taken)
                for p in range(n_ports):
                    taken_step[p] += weight * taken[p]
            else:
                for p in range(n_ports):
                    current[p] = 0.0
            for m in range(n_machines):
                v = complex(x[0, machines.node[m]], x[1, machines.node[m]])
                p = at_psi + WINDINGS * m
                for w in range(WINDINGS):
                    flux = norton[m, w] + norton[m, 3 + w] * v
                    x[0, p + w], x[1, p + w] = flux.real, flux.imag
                p0, p1 = complex(x[0, p], x[1, p]), complex(x[0, p + 1], x[1, p + 1])
                loss += copper_loss(machines, m, p0, p1, complex(x[0, p + 2], x[1, p + 2]))
                torque[m] = air_gap_torque(machines.pairs[m], p0, norton[m, 6] + norton[m, 7] * v)
                speed = state.speed[m] + c_share[k] * h * state.acceleration[m]
                if machines.train[m, TRAIN_INERTIA] > 0.0:
                    power[ENERGY_SHAFT] += weight * torque[m] * speed
                    gain[m] += weight * torque[m] / machines.j[m]
                elif state.shaft[m, SHAFT_LOCKED] == 0.0:
                    power[ENERGY_SHAFT] += weight * torque[m] * speed
                    asked = load_of(machines, m, state.load_factor[m], speed)
                    gain[m] += weight * (torque[m] - asked) / machines.j[m]
            for c in range(3):
                for m in range(n):
                    change[k, c, m] = x[c, m] - e[c, m]
            power[ENERGY_DELIVERED] += weight * delivered
            power[ENERGY_DISSIPATED] += weight * loss
            power[ENERGY_THROUGHPUT] += weight * abs(delivered)
        if not np.isfinite(power[ENERGY_DELIVERED] + power[ENERGY_DISSIPATED]):
            return DIVERGED, step, rows[0], -1, -1, 0.0
        q, phase, share = find_zero(switches, coef.pole_g, clarke, state.opening, quiet, state.x, x, h)
        if q >= 0:
            return POLE_ZERO, step, rows[0], q, phase, share
        follow_chatter(state.x, x, watch.delta, watch.turns, watch.noise, watch.chatter)
        for c in range(3):
            for m in range(n):
                state.x[c, m] = x[c, m] if abs(x[c, m]) > NOTHING else 0.0
        follow_drives(tables, state, drive, push, x)
        for m in range(n_machines):
            p = at_psi + WINDINGS * m
            size = main_flux(machines, m, complex(x[0, p], x[1, p]), complex(x[0, p + 1], x[1, p + 1]),
                             complex(x[0, p + 2], x[1, p + 2]))
            state.flux[m, 1] = (size - state.flux[m, 0]) / h
            state.flux[m, 0] = size
            if machines.train[m, TRAIN_INERTIA] > 0.0:
                advance_train(machines, m, state.load_factor[m], gain[m], torque[m], t + h, h, state.speed,
                              state.acceleration, state.shaft)
            else:
                advance_shaft(machines, m, state.load_factor[m], gain[m], torque[m], t + h, state.speed,
                              state.acceleration, state.shaft)
        for k in range(power.size):
            state.energy[k] += power[k]
        state.energy[ENERGY_STEPS] += 1.0
        follow_peaks(clarke, x, t + h, state.peak)
        follow_ports(ports, x, current, watch.port_peak)
        for p in range(n_ports):
            watch.taken[p] += taken_step[p]
        q, phase = follow_recovery(switches, coef.pole_g, clarke, watch.separated, x, t + h, watch.recovery)
        if int(state.energy[ENERGY_STEPS]) % stride == 0:
            store_sample(tables, coef, clarke, state, e, t + h, push, current, out, rows[0])
            rows[0] += 1
        if q >= 0:
            return REIGNITION, step + 1, rows[0], q, phase, 0.0
        monitor, code = find_alert(tables, state)
        if monitor >= 0:
            return ALERT, step + 1, rows[0], monitor, code, 0.0
    return DONE, steps, rows[0], -1, -1, 0.0
