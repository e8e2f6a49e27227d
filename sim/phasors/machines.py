"""Induction machines as phasors see them: admittance at a slip and a frequency, torque, the saturated main path.

Branches of the circuit, from the inverse inductances of the tables: the stator in series, then the cages and the main
path side by side,

    y_stator = 1/(r + s/u),   y_cage = slip/(r + slip s/u),   y_main = 1/(s L_m)

with u the inverse leakage inductance of a winding.  In the stationary frame s = j w is a positive-sequence voltage and
s = -j w a negative-sequence one; both see the same rotor, which turns at the electrical speed n, with the slip
(s - j n)/s.  Torque is the power that crosses the gap over the synchronous speed, |v|^2 Re(y_cages)/w for every pole
pair, v the voltage of the gap.

Source: A. E. Fitzgerald, C. Kingsley, S. D. Umans, *Electric Machinery*, 6th ed., section 6.4, with the cages in
parallel behind the magnetising reactance; saturation as in `sim.phasors.saturation`.
"""

from typing import Any, NamedTuple

import numpy as np

from sim.network.build import Network


class Branches(NamedTuple):
    """Admittances of a machine's circuit, all of one shape. [S]"""

    stator: Any
    cages: Any
    main: Any

    @property
    def gap(self) -> Any:
        """Cages and main path together."""
        return self.cages + self.main

    @property
    def terminal(self) -> Any:
        """The whole circuit at its terminals; losses outside of it belong to the node."""
        return self.stator * self.gap / (self.stator + self.gap)


def find_slip(s: Any, rotor: Any) -> Any:
    """Slip of a rotor [rad/s, electrical] against a voltage of complex frequency s [rad/s], not 0. [pu]"""
    return (s - 1j * rotor) / s


def find_branches(machines: Any, m: int, s: Any, slip: Any, beyond: Any = 0.0) -> Branches:
    """Branches of a machine's circuit.

    Parameters
    ----------
    machines : Machines
        Table of the network.
    m : int
        Row of the machine.
    s : complex or ndarray, shape (...)
        Not 0. [rad/s]
    slip : float, complex or ndarray, shape (...)
        Against s. [pu]
    beyond : float or ndarray
        What its main path draws beyond its linear part, per unit of flux: `sim.phasors.saturation.main_slope`. [1/H]

    Checked by
    ----------
    tests/phasors/test_machines.py
    """
    leak, r = machines.leak[m], machines.r[m]
    cages = sum(slip / (r[k] + slip * s / leak[k]) for k in (1, 2) if leak[k] > 0.0)
    return Branches(1.0 / (r[0] + s / leak[0]), cages, (machines.whole[m] - leak.sum() + beyond) / s)


def machine_admittance(machines: Any, m: int, s: Any, rotor: Any) -> Any:
    """Admittance of machine m at its terminals, below its knee, at a speed of the rotor [rad/s, electrical]. [S]"""
    return find_branches(machines, m, s, find_slip(s, rotor)).terminal


def add_machines(matrices: np.ndarray, network: Network, s: Any, rotor: np.ndarray) -> np.ndarray:
    """Positive-sequence matrices with the machines connected.

    Parameters
    ----------
    matrices : ndarray, shape (..., N, N)
        As `nodal_matrix` gives them. [S]
    network : Network
    s : complex or ndarray, shape (...)
        [rad/s]
    rotor : ndarray, shape (..., A) or (A,)
        Electrical speed of every rotor. [rad/s]
    """
    whole = matrices.copy()
    for m, node in enumerate(network.tables.machines.node):
        whole[..., node, node] += machine_admittance(network.tables.machines, m, s, rotor[..., m])
    return whole


def find_pull(machines: Any, m: int, s: Any, branches: Branches) -> Any:
    """Air-gap torque of machine m for the square of the gap's voltage, s = j w. [N m/V2]"""
    return machines.pairs[m] * branches.cages.real / s.imag
