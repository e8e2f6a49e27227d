"""Nonlinear ports: saturable limbs and arresters, closed by Newton on the junction.

At the open ports a stage is linear.  Its answer to port currents i is u = u_open - R i, with the machines' Norton
equivalents folded into R; the argument of each curve moves by `gain` times the voltage.  Only ports beyond the first
point of their curve carry current, so most steps end with a comparison for each port.

A limb's current passes the winding resistance r of its link: u is then the voltage behind r, and because the link
answers with -y r i, the nodes feel only (1 - y r) i.
"""

from typing import NamedTuple

import numpy as np

from sim.kernels.jit import inner
from sim.kernels.small import solve_small

ROUNDS = 8              # times that ports may join those beyond their first point
NEWTON_MOST = 60
HALVINGS = 12


class PortScratch(NamedTuple):
    """Work space of `settle_ports`; see `make_scratch`."""

    chosen: np.ndarray          # (P,) int, ports beyond their first point
    joined: np.ndarray          # (P,) int
    later: np.ndarray           # (P,) int
    count: np.ndarray           # (1,) int, number of chosen ports
    u: np.ndarray               # (P,)
    old: np.ndarray             # (P,)
    step: np.ndarray            # (P,)
    move: np.ndarray            # (P,)
    current: np.ndarray         # (P,)
    slope: np.ndarray           # (P,)
    r: np.ndarray               # (P, P) [ohm]
    jacobian: np.ndarray        # (P, P)
    answer: np.ndarray          # (P, 2 A) what the machines draw per ampere of a port
    a: np.ndarray               # (2 A, 2 A)
    b: np.ndarray               # (2 A,)


def make_scratch(ports, machines):
    """Work space for so many ports and machines."""
    integers = [np.zeros(size, dtype=np.int64) for size in (ports, ports, ports, 1)]
    vectors = [np.zeros(ports) for _ in range(6)]
    return PortScratch(*integers, *vectors, np.zeros((ports, ports)), np.zeros((ports, ports)),
                       np.zeros((ports, 2 * machines)), np.zeros((2 * machines, 2 * machines)),
                       np.zeros(2 * machines))


@inner
def curve_value(ports, p, x):
    """Current and its slope at an argument."""
    lo, hi = ports.first[p], ports.first[p + 1]
    size = abs(x)
    if size <= ports.x[lo]:
        return 0.0, 0.0
    k = lo + 1
    while k < hi - 1 and size > ports.x[k]:
        k += 1
    slope = (ports.i[k] - ports.i[k - 1]) / (ports.x[k] - ports.x[k - 1])
    value = ports.i[k - 1] + slope * (size - ports.x[k - 1])
    return (value if x > 0.0 else -value), slope


@inner
def open_arguments(ports, links, link_y, j, x, u, argument, gain):
    """Voltages u and arguments of all ports at node voltages x; True when one is beyond its first point."""
    beyond = False
    for p in range(ports.node.size):
        n, b = ports.node[p], ports.link[p]
        w0, w1, w2 = ports.weight[p, 0], ports.weight[p, 1], ports.weight[p, 2]
        u[p] = w0 * x[0, n] + w1 * x[1, n] + w2 * x[2, n]
        if b < 0:
            argument[p], gain[p] = u[p], 1.0
        else:
            y = link_y[0, b]
            linked = w0 * (j[0, b] + y * x[0, n]) + w1 * (j[1, b] + y * x[1, n])
            argument[p] = ports.offset[p] + links.l[0, b] * linked
            if w2 != 0.0:
                argument[p] += links.l[1, b] * w2 * (j[2, b] + link_y[1, b] * x[2, n])
            gain[p] = links.l[0, b] * y
        if abs(argument[p]) > ports.x[ports.first[p]]:
            beyond = True
    return beyond


@inner
def felt_share(ports, links, link_y, p):
    """Share of a port's current that its node feels."""
    b = ports.link[p]
    return 1.0 - link_y[0, b] * links.r[0, b] if b >= 0 else 1.0


@inner
def common_resistance(ports, links, p, q):
    """Winding resistance that the currents of two limbs share, as their ports see it. [ohm]"""
    b = ports.link[p]
    if b < 0 or ports.link[q] != b:
        return 0.0
    angle = 0.0
    for c in range(3):
        angle += ports.weight[p, c] * ports.weight[q, c]
    return links.r[0, b] * angle


@inner
def port_response(ports, links, coef, admittance, a, b, chosen, count, r, answer):
    """R among the chosen ports, the machines' currents included; answer holds the machine currents per port current."""
    size = coef.zmm.shape[0]
    zmm = coef.zmm
    for k in range(count):
        share = felt_share(ports, links, coef.link_y, chosen[k])
        for m in range(size):
            b[m] = -share * coef.zmp[m, chosen[k]]
            for l in range(size // 2):
                yr, yi = admittance[l].real, admittance[l].imag
                a[m, 2 * l] = zmm[m, 2 * l] * yr + zmm[m, 2 * l + 1] * yi
                a[m, 2 * l + 1] = -zmm[m, 2 * l] * yi + zmm[m, 2 * l + 1] * yr
            a[m, m] += 1.0
        if size:
            solve_small(a, b, size)
        for m in range(size // 2):
            v = admittance[m] * complex(b[2 * m], b[2 * m + 1])
            answer[k, 2 * m], answer[k, 2 * m + 1] = v.real, v.imag
        for l in range(count):
            r[l, k] = share * coef.zpp[chosen[l], chosen[k]] + common_resistance(ports, links, chosen[l], chosen[k])
            for m in range(size):
                r[l, k] += coef.zpm[chosen[l], m] * answer[k, m]


@inner
def mismatch(ports, chosen, count, u_open, argument, gain, r, u, current, slope, out):
    """out = u - u_open + R i(u) on the chosen ports; returns its largest magnitude."""
    for k in range(count):
        p = chosen[k]
        current[k], slope[k] = curve_value(ports, p, argument[p] + gain[p] * (u[k] - u_open[p]))
    worst = 0.0
    for k in range(count):
        out[k] = u[k] - u_open[chosen[k]]
        for l in range(count):
            out[k] += r[k, l] * current[l]
        worst = max(worst, abs(out[k]))
    return worst


@inner
def settle_ports(ports, links, coef, admittance, u_open, argument, gain, current, scratch):
    """Currents of all ports of a stage.

    Parameters
    ----------
    coef : Coefficients
    admittance : ndarray, shape (A,), complex
        Norton admittance of the machines. [S]
    u_open, argument, gain : ndarray, shape (P,)
        Voltage [V] and argument at zero port current, and how the argument moves with the voltage.
    current : ndarray, shape (P,)
        Receives the result. [A]
    scratch : PortScratch

    Returns
    -------
    bool
        False when Newton found no solution.
    """
    n_ports = ports.node.size
    chosen, r, u, move = scratch.chosen, scratch.r, scratch.u, scratch.move
    count = 0
    for p in range(n_ports):
        current[p] = 0.0
        scratch.joined[p] = 0
    for _ in range(ROUNDS):
        grown = False
        for p in range(n_ports):
            if scratch.joined[p] == 1:
                continue
            shift = 0.0
            for k in range(count):
                shift -= scratch.current[k] * full_response(ports, links, coef, chosen[k], p, scratch.answer[k])
            if abs(argument[p] + gain[p] * shift) > ports.x[ports.first[p]]:
                scratch.joined[p] = 1
                scratch.later[p] = 1
                grown = True
        if not grown:
            break
        for p in range(n_ports):
            if scratch.later[p] == 1:
                scratch.later[p] = 0
                chosen[count] = p
                u[count] = u_open[p]
                count += 1
        port_response(ports, links, coef, admittance, scratch.a, scratch.b, chosen, count, r, scratch.answer)
        scale = 0.0
        for k in range(count):
            scale = max(scale, abs(u_open[chosen[k]]))
        worst = mismatch(ports, chosen, count, u_open, argument, gain, r, u, scratch.current, scratch.slope, move)
        tries = 0
        while worst > 1e-11 * scale + 1e-9:
            tries += 1
            if tries > NEWTON_MOST:
                if worst > 1e-7 * scale:
                    scratch.count[0] = count
                    return False
                break
            for k in range(count):
                for l in range(count):
                    p = chosen[l]
                    scratch.jacobian[k, l] = r[k, l] * scratch.slope[l] * gain[p]
                scratch.jacobian[k, k] += 1.0
            solve_small(scratch.jacobian, move, count)
            share, before = 1.0, worst
            for k in range(count):
                scratch.old[k], scratch.step[k] = u[k], move[k]
            for _ in range(HALVINGS):
                for k in range(count):
                    u[k] = scratch.old[k] - share * scratch.step[k]
                worst = mismatch(ports, chosen, count, u_open, argument, gain, r, u, scratch.current, scratch.slope,
                                 move)
                if worst < before or worst <= 1e-11 * scale + 1e-9:
                    break
                share *= 0.5
    for k in range(count):
        current[chosen[k]] = scratch.current[k]
    scratch.count[0] = count
    return True


@inner
def full_response(ports, links, coef, q, p, answer):
    """Voltage that port p loses per ampere of port q, whose machine currents per ampere are `answer`. [ohm]"""
    total = felt_share(ports, links, coef.link_y, q) * coef.zpp[p, q] + common_resistance(ports, links, p, q)
    for m in range(answer.size):
        total += coef.zpm[p, m] * answer[m]
    return total


@inner
def inject_ports(ports, links, link_y, machine_node, scratch, rhs, j):
    """Take the currents of the chosen ports, and what links and machines answer, from the nodes and from j."""
    for k in range(scratch.count[0]):
        p, i = scratch.chosen[k], scratch.current[k]
        b, share = ports.link[p], felt_share(ports, links, link_y, p)
        for c in range(3):
            rhs[c, ports.node[p]] -= share * ports.weight[p, c] * i
            if b >= 0:
                j[c, b] -= (1.0 - share) * ports.weight[p, c] * i
        for m in range(machine_node.size):
            rhs[0, machine_node[m]] -= scratch.answer[k, 2 * m] * i
            rhs[1, machine_node[m]] -= scratch.answer[k, 2 * m + 1] * i


@inner
def port_loss(layout, ports, links, x, current, taken):
    """Power that port currents dissipate; `taken` receives that of every arrester. [W]

    A limb stores what it takes; with that of its link, i, its current s loses r (2 i + s) s in the winding.
    """
    loss = 0.0
    for p in range(ports.node.size):
        taken[p] = 0.0
        if current[p] == 0.0:
            continue
        b, drop = ports.link[p], 0.0
        for c in range(3):
            if b < 0:
                drop += ports.weight[p, c] * x[c, ports.node[p]]
            else:
                drop += 2.0 * ports.weight[p, c] * links.r[0, b] * x[c, layout.link + b]
        for q in range(ports.node.size if b >= 0 else 0):
            drop += common_resistance(ports, links, p, q) * current[q]
        loss += drop * current[p]
        if b < 0:
            taken[p] = drop * current[p]
    return loss


@inner
def follow_ports(ports, x, current, peak):
    """Keep the largest current and voltage of every port."""
    for p in range(ports.node.size):
        n = ports.node[p]
        u = abs(ports.weight[p, 0] * x[0, n] + ports.weight[p, 1] * x[1, n] + ports.weight[p, 2] * x[2, n])
        if abs(current[p]) > peak[p, 0]:
            peak[p, 0] = abs(current[p])
        if u > peak[p, 1]:
            peak[p, 1] = u
