"""Bridges of drives with a direct-voltage link in a stage of the waveform engine, closed by Newton.

A front end, and an output whose pulses are blocked, is a voltage that follows from what flows in the same moment: from
the voltage at its node, its current and the energy of the link.  The rest of a stage is linear in these voltages, with
the machines' Norton equivalents folded in, so that they are unknowns of a small system

    e_k - f_k(W, v, i) = 0,    v = v_0 + Z_v (e - e_0),    i = i_0 + Z_i (e - e_0)

which `settle_bridges` solves to rounding.  Each drive has two bridges, its front end and its output; an output that
works is no unknown, but what it delivers moves the energy of the link.  Whatever Newton misses is no loss: the energy
moves by the voltages and currents of the stage as they are (`finish_bridges`).
"""

from typing import NamedTuple

import numpy as np

from sim.kernels.columns import (
    FRONT_STEPS,
    FRONT_VOLTS,
    FRONT_W,
    LINK_LOSS,
    X_ENERGY,
    X_POWER,
    X_SUPPLY,
    X_SUPPLY_Q,
    X_TOLD,
)
from sim.kernels.control.front import blocked_emf, filtered_supply, front_emf, link_energy
from sim.kernels.jit import inner
from sim.kernels.small import solve_small

ENOUGH = 1e-7               # of rated voltage: a stage is solved by the move that comes below
ROUNDED = 1e-12             # and needs none from here
MET = 1e-6                  # the same once cores and arresters have settled beside the bridges
NEWTON_MOST, HALVINGS, ROUNDS = 40, 8, 12
NUDGE = 1e-7                # of rated voltage, for derivatives


class BridgeScratch(NamedTuple):
    """Work space: two bridges of each drive with a link, the front end first; see `make_bridges`."""

    drive: np.ndarray           # (2F,) int
    link: np.ndarray            # (2F,) int
    node: np.ndarray            # (2F,) int, at the end of the link
    solved: np.ndarray          # (2F,) int, bridges whose voltage is an unknown
    count: np.ndarray           # (2,) int, how many; 1 once the Jacobian may serve another stage
    coupled: np.ndarray         # (2F,) int, machines answer to its voltage
    e: np.ndarray               # (2F,) complex, voltage behind the link [V]
    v0: np.ndarray              # (2F,) complex, at the node before Newton moves [V]
    i0: np.ndarray              # (2F,) complex, out of the bridge likewise [A]
    v: np.ndarray               # (2F,) complex
    i: np.ndarray               # (2F,) complex
    dv: np.ndarray              # (4F, 2F) complex, answers to a volt in the real and the imaginary part of each unknown
    di: np.ndarray              # (4F, 2F) complex
    drawn: np.ndarray           # (4F, A) complex, what machines draw in answer
    x: np.ndarray               # (4F,) how far Newton has moved the unknowns [V]
    old: np.ndarray             # (4F,)
    move: np.ndarray            # (4F,)
    residual: np.ndarray        # (4F,)
    base: np.ndarray            # (4F,)
    jacobian: np.ndarray        # (4F, 4F)
    lu: np.ndarray              # (4F, 4F)
    a: np.ndarray               # (2A, 2A)
    b: np.ndarray               # (2A,)
    rhs: np.ndarray             # (3, N) kept while ports settle
    j: np.ndarray               # (3, B)


def make_bridges(tables):
    """Work space for the drives of a network that have a front end."""
    drives, machines = tables.drives, len(tables.machines.node)
    fed = np.flatnonzero(drives.front >= 0)
    drive = np.repeat(fed, 2)
    link = np.stack([drives.front[fed], drives.link[fed]], axis=1).ravel()
    size = len(link)
    integers = [np.zeros(n, np.int64) for n in (size, 2, size)]
    vectors = [np.zeros(size, complex) for _ in range(5)]
    answers = [np.zeros((2 * size, n), complex) for n in (size, size, machines)]
    reals = [np.zeros(2 * size) for _ in range(5)]
    return BridgeScratch(drive, link, tables.links.end[link], *integers, *vectors, *answers, *reals,
                         np.zeros((2 * size, 2 * size)), np.zeros((2 * size, 2 * size)),
                         np.zeros((2 * machines, 2 * machines)), np.zeros(2 * machines),
                         np.zeros((3, tables.nodes.c.shape[1])), np.zeros((3, len(link) and len(tables.links.start))))


@inner
def choose_bridges(tables, state, coef, s):
    """Before the steps of a call: which voltages are unknowns, and which of them machines answer to."""
    n_nodes, count = tables.nodes.c.shape[1], 0
    for q in range(s.link.size):
        front = q % 2 == 0
        l = s.drive[q]
        if front or (state.drive_on[l] == 1 and state.drive[l, X_TOLD] == 1.0):
            s.solved[count] = q
            count += 1
        s.coupled[q] = 0
        for m in range(tables.machines.node.size):
            n = tables.machines.node[m]
            for c in range(2):
                for k in range(2):
                    if coef.z[c * n_nodes + n, k * n_nodes + s.node[q]] != 0.0:
                        s.coupled[q] = 1
    s.count[0], s.count[1] = count, 0
    for k in range(count):
        answer_bridge(tables, coef, k, s)


@inner
def answer_bridge(tables, coef, k, s):
    """What node voltages and currents of all bridges answer to unknown k, machines left out."""
    n_nodes, p = tables.nodes.c.shape[1], s.solved[k]
    y = coef.link_y[0, s.link[p]]
    for c in range(2):
        row, unit = 2 * k + c, (1.0 + 0.0j if c == 0 else 1.0j)
        for q in range(s.link.size):
            at = s.node[q]
            v = y * complex(coef.z[at, c * n_nodes + s.node[p]], coef.z[n_nodes + at, c * n_nodes + s.node[p]])
            s.dv[row, q] = v
            s.di[row, q] = coef.link_y[0, s.link[q]] * ((unit if q == p else 0.0j) - v)
        for m in range(s.drawn.shape[1]):
            s.drawn[row, m] = 0.0j


@inner
def answer_machines(tables, coef, norton, k, s):
    """Add what the machines, as Norton equivalents, make of unknown k."""
    machines, n_nodes, p = tables.machines.node, tables.nodes.c.shape[1], s.solved[k]
    size, y = machines.size, coef.link_y[0, s.link[p]]
    for c in range(2):
        row = 2 * k + c
        for m in range(2 * size):
            at = machines[m // 2] + (m % 2) * n_nodes
            s.b[m] = y * coef.z[at, c * n_nodes + s.node[p]]
            for l in range(size):
                yr, yi = norton[l, 7].real, norton[l, 7].imag
                s.a[m, 2 * l] = coef.zmm[m, 2 * l] * yr + coef.zmm[m, 2 * l + 1] * yi
                s.a[m, 2 * l + 1] = -coef.zmm[m, 2 * l] * yi + coef.zmm[m, 2 * l + 1] * yr
            s.a[m, m] += 1.0
        solve_small(s.a, s.b, 2 * size)
        for m in range(size):
            s.drawn[row, m] = norton[m, 7] * complex(s.b[2 * m], s.b[2 * m + 1])
        for q in range(s.link.size):
            at, v = s.node[q], 0.0j
            for m in range(size):
                n, i = machines[m], s.drawn[row, m]
                v -= complex(coef.z[at, n] * i.real + coef.z[at, n_nodes + n] * i.imag,
                             coef.z[n_nodes + at, n] * i.real + coef.z[n_nodes + at, n_nodes + n] * i.imag)
            s.dv[row, q] += v
            s.di[row, q] -= coef.link_y[0, s.link[q]] * v


@inner
def guess_bridges(state, data, w_t, push, s):
    """Voltages from which Newton starts: those of the step's begin, turned on; an output's that of its terminals."""
    for q in range(s.link.size):
        l = s.drive[q]
        if q % 2 == 0:
            s.e[q] = state.front[l] * np.exp(1j * data[l, FRONT_W] * w_t)
        elif state.drive_on[l] == 1 and state.drive[l, X_TOLD] == 1.0:
            s.e[q] = complex(state.x[0, s.node[q]], state.x[1, s.node[q]])
        else:
            s.e[q] = push[s.link[q]]
        push[s.link[q]] = s.e[q]


@inner
def observe_rows(coef, rhs, j, s):
    """Voltages at the nodes of all bridges and their currents, from the currents into the nodes."""
    n_nodes = rhs.shape[1]
    flat = rhs.reshape(rhs.size)
    for q in range(s.link.size):
        real, imag = 0.0, 0.0
        for k in range(flat.size):
            real += coef.z[s.node[q], k] * flat[k]
            imag += coef.z[n_nodes + s.node[q], k] * flat[k]
        b = s.link[q]
        s.v0[q] = complex(real, imag)
        s.i0[q] = complex(j[0, b], j[1, b]) - coef.link_y[0, b] * s.v0[q]


@inner
def observe_nodes(coef, x, j, s):
    """The same from node voltages."""
    for q in range(s.link.size):
        b = s.link[q]
        s.v0[q] = complex(x[0, s.node[q]], x[1, s.node[q]])
        s.i0[q] = complex(j[0, b], j[1, b]) - coef.link_y[0, b] * s.v0[q]


@inner
def bridge_misses(tables, state, d, e_drive, s):
    """How far each unknown is from the voltage that its bridge has at the currents it leads to; the sum of squares."""
    count, total = s.count[0], 0.0
    for q in range(s.link.size):
        s.v[q], s.i[q] = s.v0[q], s.i0[q]
        for k in range(2 * count):
            s.v[q] += s.x[k] * s.dv[k, q]
            s.i[q] += s.x[k] * s.di[k, q]
    for k in range(count):
        q = s.solved[k]
        l = s.drive[q]
        data, e, front = tables.drives.data[l], e_drive[l], q - q % 2
        ahead = bridge_voltage(s, front)
        out = bridge_voltage(s, front + 1)
        taken = out.real * s.i[front + 1].real + out.imag * s.i[front + 1].imag
        energy, _ = link_energy(e, d, ahead, s.i[front], taken, running_loss(state, l, data), data)
        if q == front:
            seen = filtered_supply(e, d, s.v[q], 0.0, data)
            emf, _ = front_emf(energy, e, d, seen, s.v[q], s.i[q], data[FRONT_STEPS], data)
            miss = ahead - emf
        else:
            miss = out - blocked_emf(energy, s.v[q], s.i[q], data)
        s.residual[2 * k], s.residual[2 * k + 1] = miss.real, miss.imag
        total += (miss.real**2 + miss.imag**2) / data[FRONT_VOLTS] ** 2
    return total


@inner
def bridge_voltage(s, q):
    """Voltage of a bridge as Newton has moved it. [V]"""
    for k in range(s.count[0]):
        if s.solved[k] == q:
            return s.e[q] + complex(s.x[2 * k], s.x[2 * k + 1])
    return s.e[q]


@inner
def running_loss(state, l, data):
    """Loss of a drive whose link is charged: none once its pulses are blocked. [W]"""
    return data[LINK_LOSS] if state.drive_on[l] == 1 and state.drive[l, X_TOLD] == 0.0 else 0.0


@inner
def find_slopes(tables, state, d, e_drive, s):
    """Jacobian of the misses by forward differences."""
    size = 2 * s.count[0]
    for r in range(size):
        s.base[r] = s.residual[r]
    for c in range(size):
        nudge = NUDGE * tables.drives.data[s.drive[s.solved[c // 2]], FRONT_VOLTS]
        kept = s.x[c]
        s.x[c] += nudge
        bridge_misses(tables, state, d, e_drive, s)
        for r in range(size):
            s.jacobian[r, c] = (s.residual[r] - s.base[r]) / nudge
        s.x[c] = kept
    for r in range(size):
        s.residual[r] = s.base[r]
    s.count[1] = 1


@inner
def move_bridges(tables, state, d, e_drive, enough, s):
    """Newton from the present voltages; True when they met `enough` without a move.  s.x is how far they moved."""
    size = 2 * s.count[0]
    for k in range(size):
        s.x[k] = 0.0
    best = bridge_misses(tables, state, d, e_drive, s)
    if best <= enough * enough:
        return True
    fresh = False
    for _ in range(NEWTON_MOST):
        if s.count[1] == 0:
            find_slopes(tables, state, d, e_drive, s)
            fresh = True
        for r in range(size):
            s.move[r], s.old[r] = s.residual[r], s.x[r]
            for c in range(size):
                s.lu[r, c] = s.jacobian[r, c]
        solve_small(s.lu, s.move, size)
        share, total = 1.0, best
        for _ in range(HALVINGS if fresh else 1):
            for r in range(size):
                s.x[r] = s.old[r] - share * s.move[r]
            total = bridge_misses(tables, state, d, e_drive, s)
            if total < best:
                break
            share *= 0.5
        if total >= best or not np.isfinite(total):
            for r in range(size):
                s.x[r] = s.old[r]
            bridge_misses(tables, state, d, e_drive, s)
            if fresh or best <= ENOUGH * ENOUGH:
                break
            s.count[1] = 0
            continue
        slow = total > 0.01 * best
        best, fresh = total, False
        if best <= ENOUGH * ENOUGH:
            break
        if slow:
            s.count[1] = 0
    return False


@inner
def inject_bridges(tables, coef, push, rhs, j, s):
    """Take over what Newton found: voltages, link currents, and the currents into the nodes."""
    machines = tables.machines.node
    for k in range(s.count[0]):
        q = s.solved[k]
        b, n, more = s.link[q], s.node[q], complex(s.x[2 * k], s.x[2 * k + 1])
        s.e[q] += more
        push[b] = s.e[q]
        i = coef.link_y[0, b] * more
        j[0, b] += i.real
        j[1, b] += i.imag
        rhs[0, n] += i.real
        rhs[1, n] += i.imag
        for c in range(2):
            for m in range(machines.size):
                drawn = s.x[2 * k + c] * s.drawn[2 * k + c, m]
                rhs[0, machines[m]] -= drawn.real
                rhs[1, machines[m]] -= drawn.imag


@inner
def settle_bridges(tables, state, coef, d, e_drive, norton, push, rhs, j, s):
    """Solve the voltages of all unknown bridges in a stage without saturated limbs and arresters."""
    for k in range(s.count[0]):
        if s.coupled[s.solved[k]] == 1:
            answer_bridge(tables, coef, k, s)
            answer_machines(tables, coef, norton, k, s)
    observe_rows(coef, rhs, j, s)
    if not move_bridges(tables, state, d, e_drive, ROUNDED, s):
        inject_bridges(tables, coef, push, rhs, j, s)


@inner
def keep_currents(rhs, j, s):
    """Currents before limbs and arresters add theirs."""
    for c in range(3):
        for n in range(rhs.shape[1]):
            s.rhs[c, n] = rhs[c, n]
        for b in range(j.shape[1]):
            s.j[c, b] = j[c, b]


@inner
def meet_ports(tables, state, coef, d, e_drive, push, x, rhs, j, s):
    """Whether the bridges agree with what limbs and arresters draw; else they move, and those have to settle again."""
    observe_nodes(coef, x, j, s)
    if move_bridges(tables, state, d, e_drive, MET, s):
        return True
    for c in range(3):
        for n in range(rhs.shape[1]):
            rhs[c, n] = s.rhs[c, n]
        for b in range(j.shape[1]):
            j[c, b] = s.j[c, b]
    inject_bridges(tables, coef, push, rhs, j, s)
    return False


@inner
def finish_bridges(tables, state, k, d, e_drive, drive, change, push, push_zero, x, s):
    """Stage k of links and front ends at the voltages and currents found; returns what their drives lose. [W]"""
    links, lost = tables.layout.link, 0.0
    for q in range(0, s.link.size, 2):
        l, f, b, n = s.drive[q], s.link[q], s.link[q + 1], s.node[q]
        data, e, r = tables.drives.data[l], e_drive[l], drive[l]
        current, out = complex(x[0, links + f], x[1, links + f]), complex(x[0, links + b], x[1, links + b])
        taken = push[b].real * out.real + push[b].imag * out.imag + push_zero[b] * x[2, links + b]
        r[X_ENERGY], more = link_energy(e, d, push[f], current, taken, running_loss(state, l, data), data)
        seen = filtered_supply(e, d, complex(x[0, n], x[1, n]), 0.0, data)
        r[X_SUPPLY], r[X_SUPPLY_Q] = seen.real, seen.imag
        _, r[X_POWER] = front_emf(r[X_ENERGY], e, d, seen, complex(x[0, n], x[1, n]), current, data[FRONT_STEPS], data)
        lost += more
        for w in range(r.size):
            change[k, l, w] = r[w] - e[w]
    return lost
