"""Voltage along the cables between two ends whose voltages are known, from the exact line.

Source: V(x) = (V1 sinh gamma (l - x) + V2 sinh gamma x) / sinh gamma l, any text on transmission lines.
"""

from typing import Any, NamedTuple

import numpy as np

from sim.network.build import Network
from sim.params.cable.modes import series_impedance
from sim.studies.scan.setting import SEQUENCES
from sim.studies.survey.cables import Section, make_section

LEAST_POINTS, POINTS_PER_WAVE = 121, 60


class Profile(NamedTuple):
    """Voltage along one cable.

    Attributes
    ----------
    cable : str
    km : ndarray, shape (P,)
        From the near end; a joint comes twice. [km]
    voltage : ndarray, shape (P,), complex
        Per unit of the nominal voltage of the near end.
    """

    cable: str
    km: np.ndarray
    voltage: np.ndarray

    @property
    def highest(self) -> tuple[float, float]:
        """Largest magnitude and where it is [km]."""
        at = int(np.argmax(np.abs(self.voltage)))
        return float(np.abs(self.voltage[at])), float(self.km[at])


def find_profiles(case: Any, network: Network, s: complex, volts: np.ndarray, row: int) -> list[Profile]:
    """Voltages along all cables.

    Parameters
    ----------
    case : CheckedCase
    network : Network
        Of the case.
    s : complex
        [rad/s]
    volts : ndarray, shape (N,), complex
        Voltages of the nodes, per unit of nominal.
    row : int
        0 positive sequence, 1 zero sequence.

    Checked by
    ----------
    tests/studies/scan/test_profile.py
    """
    v = volts * network.node_volts
    return [follow_cable(cable, network, s, v, row) for cable in case.cables]


def follow_cable(cable: Any, network: Network, s: complex, v: np.ndarray, row: int) -> Profile:
    """Voltage along one cable, section by section."""
    ends = [network.node_names.index(name) for name in (cable.from_node, *cable.joints, cable.to_node)]
    km, volts, start = [], [], 0.0
    for part, near, far in zip(cable.sections, ends, ends[1:]):
        section = make_section(part.length_m, getattr(part, SEQUENCES[row]))
        x, along = follow_section(section, s, v[near], v[far])
        km.append((start + x) / 1e3)
        volts.append(along)
        start += section.length
    nominal = network.node_volts[ends[0]]
    return Profile(cable.name, np.concatenate(km), np.concatenate(volts) / nominal)


def follow_section(section: Section, s: complex, near: complex, far: complex) -> tuple[np.ndarray, np.ndarray]:
    """Places [m] and voltages [V] along a uniform line between the voltages of its ends [V]."""
    series = series_impedance(s, section.resistance, section.inductance, section.branches)
    gamma = np.sqrt(series * (section.conductance + s * section.capacitance))
    length = section.length
    waves = abs(gamma) * length / (2.0 * np.pi)
    x = np.linspace(0.0, length, max(LEAST_POINTS, int(POINTS_PER_WAVE * waves) | 1))
    return x, (near * np.sinh(gamma * (length - x)) + far * np.sinh(gamma * x)) / np.sinh(gamma * length)
