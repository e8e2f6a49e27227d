"""Ports of an envelope stage: machines, and saturated cores through their fundamental.

A balanced flux of magnitude a drives the limbs of a core sinusoidally; the fundamental of what a limb draws beyond each
knee K of its curve is k D(a) times the flux, with the describing function of a dead zone

    D(a) = 1 - 2/pi (asin r + r sqrt(1 - r^2)),   r = K/a < 1

A machine's main path saturates by the magnitude of its rotating flux (`sim.kernels.elements.machine`).  Both are
linear at a given a, so the magnitudes of saturated fluxes are scalars of the stage like speeds and drive currents.
Source: A. Gelb, W. E. Vander Velde, *Multiple-Input Describing Functions and Nonlinear System Design*, 1968 (from
memory, to be checked).
"""

import numpy as np

from sim.kernels.columns import DRIVE_SCALARS, KNEES, S_SUPPLY, WINDINGS
from sim.kernels.elements.machine import main_flux
from sim.kernels.envelope.linear import link_push, row_times
from sim.kernels.jit import entry, inner
from sim.kernels.small import solve_small

WATCHED = 0.95          # share of the first knee from which a flux counts among the scalars


@entry
def core_slope(excess, knee, size):
    """What a core draws beyond its link, per unit of flux linkage of this magnitude. [1/H]

    excess and knee have shape (KNEES,), knees in ascending order.
    """
    slope = 0.0
    for j in range(KNEES):
        if size <= knee[j]:
            break
        r = knee[j] / size
        slope += excess[j] * (1.0 - 2.0 / np.pi * (np.arcsin(r) + r * np.sqrt(1.0 - r * r)))
    return slope


@inner
def flux_of(tables, x, k):
    """Magnitude of flux k: main paths of machines first, then cores. [V s]"""
    n_machines = tables.machines.node.size
    if k < n_machines:
        p = tables.layout.flux + WINDINGS * k
        return main_flux(tables.machines, k, x[p], x[p + 1], x[p + 2])
    b = tables.cores.link[k - n_machines]
    return tables.links.l[0, b] * abs(x[tables.layout.link + b])


@inner
def knee_of(tables, k):
    """First knee of flux k. [V s]"""
    n_machines = tables.machines.node.size
    return tables.machines.knee[k, 0] if k < n_machines else tables.cores.knee[k - n_machines, 0]


@inner
def choose_scalars(tables, x, drive_on, forced, near, chosen):
    """List the scalars of a step: speeds, what live drives and front ends measure, every flux close to its knee."""
    count = 0
    for k in range(tables.machines.node.size):
        chosen[count] = k
        count += 1
    for l in range(drive_on.size):
        at = tables.layout.seen + DRIVE_SCALARS * l
        for k in range(DRIVE_SCALARS):
            if (k < S_SUPPLY and drive_on[l] == 1) or (k >= S_SUPPLY and tables.drives.front[l] >= 0):
                chosen[count] = at + k
                count += 1
    for k in range(near.size):
        near[k] = 1 if forced[k] == 1 or flux_of(tables, x, k) > WATCHED * knee_of(tables, k) else 0
        if near[k] == 1:
            chosen[count] = tables.layout.size + k
            count += 1
    return count


@inner
def find_missed(tables, x, near, forced):
    """Fluxes that passed their knee without being among the scalars; True when there are any."""
    missed = False
    for k in range(near.size):
        if near[k] == 0 and flux_of(tables, x, k) > knee_of(tables, k):
            forced[k] = 1
            missed = True
    return missed


@inner
def list_ports(tables, linear, d, e, sizes, near, ports, port_node, port_i, port_y):
    """Norton equivalents of all machines and of the cores among the scalars; returns how many."""
    machines, cores, links = tables.machines, tables.cores, tables.links
    count = machines.node.size
    for m in range(count):
        port_node[m], port_i[m], port_y[m] = machines.node[m], ports[m, 6], ports[m, 7]
    for k in range(cores.link.size):
        if near[machines.node.size + k] == 1:
            b = cores.link[k]
            more = links.l[0, b] * core_slope(cores.excess[k], cores.knee[k], sizes[machines.node.size + k])
            yb = linear.link_y[b]
            admittance = yb * ((1.0 + more) / (1.0 + yb * links.r[0, b] * more) - 1.0)
            port_node[count], port_y[count] = links.start[b], admittance
            port_i[count] = admittance * link_push(tables.layout, links, linear, d, b, e)
            count += 1
    return count


@inner
def close_ports(count, node, z, i_h, y, rhs, a, v):
    """Port voltages v = v_open - z (i_h + y v); the port currents are taken from rhs."""
    for m in range(count):
        v[m] = row_times(z, node[m], rhs)
        for l in range(count):
            a[m, l] = z[node[m], node[l]] * y[l]
            v[m] -= z[node[m], node[l]] * i_h[l]
        a[m, m] += 1.0
    solve_small(a, v, count)
    for m in range(count):
        rhs[node[m]] -= i_h[m] + y[m] * v[m]


@inner
def core_current(tables, linear, d, e, size, k, v):
    """Current of a core's link at a node voltage, the winding resistance carrying what the core draws beyond it. [A]"""
    b, links = tables.cores.link[k], tables.links
    more = links.l[0, b] * core_slope(tables.cores.excess[k], tables.cores.knee[k], size)
    yb = linear.link_y[b]
    push = link_push(tables.layout, links, linear, d, b, e) + v
    return yb * push / (1.0 + yb * links.r[0, b] * more)


@inner
def flux_residuals(tables, linear, d, e, trial, near, ports, port_v, residual):
    """How far the magnitudes of saturated fluxes are from those they were taken for."""
    machines, cores = tables.machines, tables.cores
    n_machines, first = machines.node.size, tables.layout.size
    at = n_machines
    for k in range(near.size):
        if near[k] == 0:
            continue
        if k < n_machines:
            v = port_v[k]
            size = main_flux(machines, k, ports[k, 0] + ports[k, 3] * v, ports[k, 1] + ports[k, 4] * v,
                             ports[k, 2] + ports[k, 5] * v)
        else:
            i = core_current(tables, linear, d, e, trial[first + k], k - n_machines, port_v[at])
            size = tables.links.l[0, cores.link[k - n_machines]] * abs(i)
            at += 1
        residual[first + k] = trial[first + k] - size


@inner
def saturation_loss(tables, x):
    """What the currents of saturated cores add to the losses in the winding resistances of their links. [W]"""
    cores, links = tables.cores, tables.links
    loss = 0.0
    for k in range(cores.link.size):
        b = cores.link[k]
        i = abs(x[tables.layout.link + b])
        more = links.l[0, b] * core_slope(cores.excess[k], cores.knee[k], links.l[0, b] * i)
        loss += links.r[0, b] * (2.0 + more) * more * i * i
    return loss
