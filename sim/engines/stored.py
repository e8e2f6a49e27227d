"""Energy stored in a state of either engine."""

import numpy as np

from sim.engines.iron import find_limb_flux, list_bends
from sim.kernels.columns import X_ENERGY
from sim.kernels.elements.machine import main_flux
from sim.network.layout import WINDINGS


def link_energy(network, drive):
    """Energy in the direct-voltage links of all drives. [J]"""
    return float(np.sum(drive[network.tables.drives.front >= 0, X_ENERGY]))


def stored_energy(network, x):
    """Electric and magnetic energy of a state in either form. [J]

    x has shape (n,) complex (envelope) or (3, n) (waveform).
    """
    t, at = network.tables, network.tables.layout
    vectors = x if x.ndim == 1 else x[0] + 1j * x[1]
    rows = [np.abs(vectors) ** 2] + ([] if x.ndim == 1 else [x[2] ** 2])
    total = 0.0
    for row, size in enumerate(rows):
        u, stiff = size[at.capacitors], t.links.s[row] > 0.0
        total += t.nodes.c[row] @ size[at.nodes] + t.links.l[row] @ size[at.links]
        total += np.sum(u[stiff] / t.links.s[row][stiff]) + np.sum(size[at.oscillators])
    flux = vectors[at.fluxes].reshape(-1, WINDINGS)
    total += np.sum(np.real(np.einsum("ai,aij,aj->a", np.conj(flux), t.machines.gamma, flux)))
    total += np.sum(path_energy(t.machines, flux))
    linked = x[..., at.links]
    return 0.5 * float(total) + (envelope_energy(t, linked) if x.ndim == 1 else limb_energy(t, linked))


def path_energy(machines, flux):
    """Twice what saturation adds to the energy of each machine at given flux linkages, shape (A, 3). [J]

    The energy at given flux linkages is the least over the flux y of the main path of 1/2 sum u_k |psi_k - y|^2 + W(y);
    with z = |sum u_k psi_k| that is a constant + 1/2 D y^2 - z y + the sum of 1/2 k (y - knee)^2 over the knees passed.
    """
    plain = np.abs(np.einsum("ak,ak->a", machines.leak, flux)) / machines.whole
    y = np.array([main_flux(machines, m, *windings) for m, windings in enumerate(flux)])
    beyond = machines.excess * np.maximum(y[:, None] - machines.knee, 0.0) ** 2
    return machines.whole * (y - plain) ** 2 + beyond.sum(axis=1)


def limb_energy(tables, linked):
    """Energy of saturated limbs beyond that of their links, for link currents of shape (3, B). [J]"""
    ports, total = tables.ports, 0.0
    flux = np.abs(find_limb_flux(tables, linked))
    for p in np.flatnonzero(flux > ports.x[ports.first[:-1]]):
        knees, added = list_bends(ports, p)
        total += 0.5 * float(added @ np.maximum(flux[p] - knees, 0.0) ** 2)
    return total


def envelope_energy(tables, linked):
    """The same for space vectors of shape (B,): the mean over a turn of the flux. [J]

    With a = |psi| and K a knee, three limbs hold on average 3/2 k times the mean square of a sin(u) - K beyond the
    knee, in limb quantities; on the scale of the space vector 3/2 becomes 1.
    """
    cores = tables.cores
    size = (tables.links.l[0, cores.link] * np.abs(linked[cores.link]))[:, None]
    ratio = np.minimum(cores.knee / np.maximum(size, 1e-300), 1.0)
    start = np.arcsin(ratio)
    rest, cosine = 0.5 * np.pi - start, np.cos(start)
    square = size**2 * (0.5 * (rest + ratio * cosine) - 2.0 * ratio * cosine + ratio**2 * rest)
    return float(np.sum(cores.excess * square * 2.0 / np.pi))
