"""A capacitor that runs down through the impedance of a dead supply: R, L and C in closed form."""

import numpy as np
from scipy.linalg import expm

from engines.circuits import build, grid, shunt, steady_envelope

FARAD, OHM = 20e-6, 200.0


def network():
    """Supply, capacitor and resistor at one node; all star points earthed, both sequences alike."""
    return build(grid(), shunt("bus", capacitance_uf=1e6 * FARAD), shunt("bus", name="load", resistance_ohm=OHM))[1]


def state_matrix(net):
    """Of (v, i): C dv/dt = -i - v/R, L di/dt = v - r i."""
    t = net.tables
    b, c = t.sources.link[0], t.nodes.c[0, 0]
    r, l = t.links.r[0, b], t.links.l[0, b]
    return np.array([[-1.0 / (OHM * c), -1.0 / c], [1.0 / l, -r / l]])


def exact(net, v, i, times):
    """Voltage and current at times, shape (m, 2)."""
    a = state_matrix(net)
    return np.stack([expm(a * t) @ [v, i] for t in times])


def start(net):
    """The steady state of the supply at the moment that it goes dead, and its voltage and current."""
    state = steady_envelope(net)
    state.live[:] = 0
    b = net.tables.sources.link[0]
    sign = np.sign(net.tables.links.wf[b] if net.tables.links.start[b] >= 0 else net.tables.links.wt[b]).real
    return state, sign
