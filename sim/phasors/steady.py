"""Sinusoidal steady state of the linear network: the first state of a running grid."""

from typing import Any

import numpy as np

from sim.errors import SolveError
from sim.kernels.columns import SOURCE_GRID
from sim.network.build import Network
from sim.phasors.nodal import inject, link_admittance, list_ends, nodal_matrix


def steady_state(network: Network, closed: np.ndarray, frame_w: np.ndarray) -> np.ndarray:
    """State x of the envelope engine with all grids live, no machine current and no power taken by front ends.

    Parameters
    ----------
    network : Network
    closed : ndarray of bool, shape (Q,)
    frame_w : ndarray, shape (I,)
        Angular frequency of each island; islands at rest (0) stay dead. [rad/s]

    Returns
    -------
    x : ndarray, shape (n,), complex
        The source that sets an island's frame is real.

    Raises
    ------
    SolveError
        If the network has no unique steady state.

    Checked by
    ----------
    tests/phasors/test_steady.py
    """
    t = network.tables
    s = 1j * np.where(frame_w > 0.0, frame_w, 1.0)
    emf = find_grid_emf(network)
    try:
        v = np.linalg.solve(nodal_matrix(network, s, closed, fronts=False), inject(network, s, emf))
    except np.linalg.LinAlgError:
        remedy = "no steady state before the first event: a loss-free resonance, or a node without any path"
        raise SolveError("network", 0.0, remedy) from None
    behind = np.zeros(len(t.links.start), dtype=complex)
    behind[t.sources.link] = emf
    fed = t.drives.front >= 0               # front ends wait without current, at the voltage of their nodes
    behind[t.drives.front[fed]] = v[t.drives.front_node[fed]]
    return fill_state(network, s, v, behind)


def find_grid_emf(network: Network) -> np.ndarray:
    """Voltage behind the impedance of every source in the frame of its island, drives silent, shape (S,). [V]"""
    sources = network.tables.sources
    frame = sources.phase[network.tables.islands.source[sources.island]]
    return np.where(sources.kind == SOURCE_GRID, sources.volts * np.exp(1j * (sources.phase - frame)), 0.0)


def fill_state(network: Network, s: np.ndarray, v: np.ndarray, emf: np.ndarray) -> np.ndarray:
    """State that goes with node voltages v [V] and the voltages behind links emf [V]; machines without flux."""
    t = network.tables
    at = s[t.links.island]
    drop = np.array([sum((weight * v[n] for n, weight in list_ends(t, b)), emf[b]) for b in range(len(at))])
    i = np.array([link_admittance(t, b, s_b) * v_b for b, (s_b, v_b) in enumerate(zip(at, drop))])
    u = t.links.s[0] * i / at
    x = np.zeros(t.layout.columns, dtype=complex)
    x[t.layout.nodes], x[t.layout.links], x[t.layout.capacitors] = v, i, u
    x[t.layout.oscillators] = np.concatenate(fill_cables(t.cables, s, v))
    return x


def fill_cables(cables: Any, s: np.ndarray, v: np.ndarray) -> list[np.ndarray]:
    """Oscillator states p and q and the Foster states that go with node voltages. [V]"""
    counts = np.diff(cables.first)
    at = np.repeat(s[cables.island], counts)
    drive = -(cables.gf[0] * np.repeat(v[cables.start], counts) + cables.gt[0] * np.repeat(v[cables.end], counts))
    parts = [slice(*pair) for pair in zip(cables.branch, cables.branch[1:])]
    spans = [slice(*pair) for pair in zip(cables.first, cables.first[1:])]
    rate = np.zeros_like(at)
    for part, span in zip(parts, spans):
        alpha, beta = cables.alpha[0, part], cables.beta[0, part]
        rate[span] = np.sum(beta**2 / alpha * at[span, None] / (at[span, None] + alpha), axis=1)
    p = drive / (at + cables.a[0] + rate + cables.w[0] ** 2 / (at + cables.b[0]))
    q = cables.w[0] * p / (at + cables.b[0])
    foster = [beta * p[span] / (at[span] + alpha) for part, span in zip(parts, spans)
              for alpha, beta in zip(cables.alpha[0, part], cables.beta[0, part])]
    return [p, q, *foster]
