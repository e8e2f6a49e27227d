r"""Impedances of a network (see `random_networks`) at any frequency, from phasors in phase coordinates.

A network holds its reactances at the frequency of its grid.  `at_frequency` restates it for another one: resistances
and conductances stay, X grows with frequency and magnetising current falls with it; cables and shunts are given by
their constants and stay as they are.

An impedance follows from what one more shunt y changes (compensation theorem: a shunt acts like the current it draws).
With y from phase a of node n to earth, a current I = y Va flows there, one third of it in every sequence, so that

    Z1_mn = -3 dV1_m / I,   Z0_mn = -3 dV0_m / I.

Source: W. D. Stevenson, *Elements of Power System Analysis*, 4th ed., chapters 7, 11 and 12 (from memory, to be
checked).
"""

import numpy as np

from . import network_solutions, three_phase


def at_frequency(network: dict, hz: float) -> dict:
    """The same network with reactances, magnetising currents and its source stated at another frequency."""
    ratio = hz / network["grid"][0]["frequency_hz"]
    scaled = {kind: [dict(row) for row in rows] for kind, rows in network.items()}
    for row in scaled["grid"]:
        growth = _stretch(row, ratio)
        row |= {"frequency_hz": hz, "short_circuit_mva": row["short_circuit_mva"] / growth}
    for row in scaled.get("transformer", []):
        row["impedance_pct"] *= _stretch(row, ratio)
        loss, current = row["no_load_loss_pct"], row["no_load_current_pct"]
        row["no_load_current_pct"] = np.hypot(loss, np.sqrt(current**2 - loss**2) / ratio)
    return scaled


def _stretch(row, ratio):
    """Growth of |R + jX| when X grows by a ratio; X/R is replaced."""
    before = np.hypot(1.0, row["x_over_r"])
    row["x_over_r"] *= ratio
    return np.hypot(1.0, row["x_over_r"]) / before


def impedances(network: dict, node: str, hz: float, extra=(), probe: complex = 1e-2) -> dict:
    """Driving-point and transfer impedances of a node.

    Parameters
    ----------
    network : dict
        With one grid.
    node : str
        Where a current is driven in.
    hz : float
        [Hz]
    extra : sequence of (terminals, matrix)
        Further elements in phase coordinates at that frequency.
    probe : complex
        The shunt; any size that changes the voltages serves. [S]

    Returns
    -------
    impedances : dict
        Node -> (zero, positive). [ohm]
    """
    moved = at_frequency(network, hz)
    before = network_solutions.nodal_phasors(moved, extra)
    shunt = three_phase.shunt_element([(node, 0)], probe)
    after = network_solutions.nodal_phasors(moved, [*extra, shunt])
    current = probe * after[node][0]
    changes = {name: three_phase.sequences(after[name] - before[name]) for name in before}
    return {name: tuple(-3.0 * change[:2] / current) for name, change in changes.items()}


def gains(network: dict, hz: float, extra=()) -> dict:
    """Positive-sequence voltage of every node over the emf of the grid, in volts per volt."""
    moved = at_frequency(network, hz)
    emf = network_solutions.emf(moved["grid"][0])
    return {name: three_phase.sequences(volts)[1] / emf
            for name, volts in network_solutions.nodal_phasors(moved, extra).items()}
