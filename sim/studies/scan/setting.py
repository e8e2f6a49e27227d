"""The network as a harmonic sees it: nodal admittances with its machines turning at a fixed speed.

The slip of a harmonic against a rotor is near one for all but the fundamental (`sim.phasors.machines`).
"""

from typing import Any, NamedTuple

import numpy as np

from sim.network.build import Network
from sim.phasors.machines import add_machines
from sim.phasors.nodal import POSITIVE, ZERO, nodal_matrix, spread

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
        Angular frequency the slip refers to, the rated one of the machine's island. [rad/s]
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
        Of all machines against the rated frequency of their islands; by default each has its rated slip. [pu]
    """
    drives = set(network.drive_names)
    closed = np.array([bool(shut) or name in drives for name, shut in zip(network.switch_names, network.closed)],
                      dtype=bool)
    slips = [find_rated_slip(machine.motor) if slip is None else slip for machine in case.machines]
    return Setting(network, closed, np.array(slips, dtype=float),
                   network.tables.islands.w[network.tables.machines.island])


def find_rated_slip(motor: Any) -> float:
    """Slip at the rated speed. [pu]"""
    return 1.0 - motor.rated_speed_rad_per_s * motor.poles / (4.0 * np.pi * motor.frequency_hz)


def passive_matrix(setting: Setting, s: Any, row: int = POSITIVE) -> np.ndarray:
    """Admittance matrices of all nodes at s [rad/s], without machines, shape (..., N, N). [S]"""
    return nodal_matrix(setting.network, spread(setting.network, s), setting.closed, row)


def whole_matrix(setting: Setting, s: Any, row: int = POSITIVE, rotor: np.ndarray | None = None) -> np.ndarray:
    """Admittance matrices of all nodes at s [rad/s], shape (..., N, N); rotors [rad/s] as in the setting by default.
    [S]"""
    matrix = passive_matrix(setting, s, row)
    if row == ZERO:
        return matrix
    return add_machines(matrix, setting.network, s, setting.rotor if rotor is None else rotor)
