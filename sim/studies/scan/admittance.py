"""The network as a harmonic sees it: nodal admittances with its machines turning at a fixed speed.

Space vectors in the stationary frame: s = j w is a positive-sequence voltage, s = -j w a negative-sequence one, and
both see the same rotor, which turns at the electrical speed n.  The slip of a harmonic is (s - j n)/s: near one for
all but the fundamental.
"""

from typing import Any, NamedTuple

import numpy as np

from sim.network.build import Network
from sim.phasors.steady import nodal_matrix

POSITIVE, ZERO = 0, 1
SEQUENCES = ("positive", "zero")


class Setting(NamedTuple):
    """A network at rest but for its rotors.

    Attributes
    ----------
    network : Network
    closed : ndarray of bool, shape (Q,)
        Position of every switch.
    slip : ndarray, shape (A,)
        Of each machine against the fundamental. [pu]
    fundamental : ndarray, shape (A,)
        Angular frequency the slip refers to. [rad/s]
    """

    network: Network
    closed: np.ndarray
    slip: np.ndarray
    fundamental: np.ndarray

    @property
    def rotor(self) -> np.ndarray:
        """Electrical speed of every rotor, shape (A,). [rad/s]"""
        return (1.0 - self.slip) * self.fundamental


def make_setting(case: Any, network: Network, slip: float | None = None) -> Setting:
    """Switches in their first position, drives pulsing, machines at a slip.

    Parameters
    ----------
    case : CheckedCase
    network : Network
    slip : float, optional
        Of all machines against their rated frequency; by default each turns at its rated speed. [pu]
    """
    drives = set(network.drive_names)
    closed = np.array([bool(shut) or name in drives for name, shut in zip(network.switch_names, network.closed)],
                      dtype=bool)
    slips = [find_rated_slip(machine.motor) if slip is None else slip for machine in case.machines]
    rated = [2.0 * np.pi * machine.motor.frequency_hz for machine in case.machines]
    return Setting(network, closed, np.array(slips, dtype=float), np.array(rated, dtype=float))


def find_rated_slip(motor: Any) -> float:
    """Slip at the rated speed. [pu]"""
    return 1.0 - motor.rated_speed_rad_per_s * motor.poles / (4.0 * np.pi * motor.frequency_hz)


def machine_admittance(machines: Any, m: int, s, rotor):
    """Admittance of a machine's circuit at its terminals.

    Parameters
    ----------
    machines : Machines
        Table of the network.
    m : int
        Row of the machine.
    s : complex or ndarray, shape (...)
        [rad/s]
    rotor : float or ndarray, broadcast against s
        Electrical speed of the rotor. [rad/s]

    Returns
    -------
    admittance : ndarray, shape (...)
        [S]  Losses outside of the circuit belong to the node.
    """
    s, rotor = np.broadcast_arrays(np.asarray(s, dtype=complex), rotor)
    size = int(np.count_nonzero(np.diag(machines.gamma[m])))
    gamma, turns = machines.gamma[m, :size, :size], np.diag(np.arange(size) > 0).astype(float)
    rates = (s[..., None, None] * np.eye(size) + machines.r[m, :size, None] * gamma
             - 1j * rotor[..., None, None] * turns)
    flux = np.linalg.solve(rates, np.eye(size)[:, :1])[..., 0]
    return flux @ gamma[0]


def add_machines(matrices: np.ndarray, network: Network, s, rotor) -> np.ndarray:
    """Positive-sequence matrices with the machines connected.

    Parameters
    ----------
    matrices : ndarray, shape (..., N, N)
        As `passive_matrix` gives them. [S]
    s : complex or ndarray, shape (...)
        [rad/s]
    rotor : ndarray, shape (..., A) or (A,)
        [rad/s]
    """
    whole = matrices.copy()
    for m, node in enumerate(network.tables.machines.node):
        whole[..., node, node] += machine_admittance(network.tables.machines, m, s, rotor[..., m])
    return whole


def passive_matrix(setting: Setting, s: complex, row: int = POSITIVE) -> np.ndarray:
    """Admittance matrix of all nodes at s [rad/s], without machines, shape (N, N). [S]"""
    return nodal_matrix(setting.network, np.full(len(setting.network.tables.islands.source), s), setting.closed, row)


def whole_matrix(setting: Setting, s: complex, row: int = POSITIVE, rotor: np.ndarray | None = None) -> np.ndarray:
    """Admittance matrix of all nodes at s [rad/s], shape (N, N); rotors [rad/s] as in the setting by default. [S]"""
    matrix = passive_matrix(setting, s, row)
    if row == ZERO:
        return matrix
    return add_machines(matrix, setting.network, s, setting.rotor if rotor is None else rotor)
