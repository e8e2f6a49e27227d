"""Natural frequencies of the network: where it rings, how fast that dies away, and at which node it is worst.

The eigenvalues of the state matrix give all of them at once; each is then brought by Newton's method to the complex
frequency at which the nodal matrix, that of the engines, is singular.  A mode that no node sees, such as one that
circulates between two equal cables in parallel, has no such frequency and is left out.

Sources
-------
W. Xu, Z. Huang, Y. Cui, H. Wang, *Harmonic resonance mode analysis*, IEEE Transactions on Power Delivery 20 (2005)
1182: participation of a node as the product of left and right eigenvector of the nodal matrix (from memory, to be
checked).  A second-order system has no resonant peak above a damping ratio of 1/sqrt(2): any text on vibrations.
"""

from typing import Any, NamedTuple

import numpy as np
from scipy.linalg import eigvals

from sim.network.build import Network
from sim.network.tables import is_inner
from sim.phasors.nodal import POSITIVE, inject, spread
from sim.studies.scan.setting import SEQUENCES, Setting, whole_matrix
from sim.studies.scan.states import state_matrix

MOST_DAMPING = np.sqrt(0.5)
NEWTON_STEPS = 12
SETTLED, GOOD = 1e-8, 1e-5      # last step of Newton's method; what passes where contacts of microohms cost digits
STRAYED = 1e-3          # a root further than this from the eigenvalue it came from is not that mode
NUDGE = 1e-5            # share of the frequency over which the matrix is differentiated
TURNS = 0.5             # a mode that follows the rotor's speed by more than this share is flux of a cage


class Resonance(NamedTuple):
    """One oscillatory mode.

    Attributes
    ----------
    sequence : str
        "positive" or "zero".
    s : complex
        Complex frequency. [rad/s]
    shape : ndarray, shape (N,), complex
        Voltages of the nodes, per unit of nominal, the largest 1.
    participation : ndarray, shape (N,)
        Share of each node, sum 1: how strongly a current there drives the mode and the mode moves that node.
    source : int
        Row of the source of the island that rings, -1 where none feeds it or an open switch parts them.
    gain : ndarray, shape (N,), complex
        Voltage of each node at the resonance over that behind the source's impedance, both per unit of nominal;
        zero without a source and in the zero sequence.
    """

    sequence: str
    s: complex
    shape: np.ndarray
    participation: np.ndarray
    source: int
    gain: np.ndarray

    @property
    def frequency_hz(self) -> float:
        """Frequency at which the network rings by itself. [Hz]"""
        return float(self.s.imag / (2.0 * np.pi))

    @property
    def damping_ratio(self) -> float:
        """Of critical damping."""
        return float(-self.s.real / abs(self.s))

    @property
    def quality(self) -> float:
        """Q = 1/(2 damping ratio)."""
        return 0.5 / self.damping_ratio if self.damping_ratio > 0.0 else np.inf


def find_resonances(setting: Setting, lowest_hz: float, highest_hz: float, row: int = POSITIVE) -> list[Resonance]:
    """Modes between two frequencies, ascending.

    Parameters
    ----------
    setting : Setting
    lowest_hz, highest_hz : float
        [Hz]
    row : int
        0 positive sequence, 1 zero sequence.

    Valid for
    ---------
    Small disturbances: linear iron, arresters open, rotors at constant speed.  The flux of a cage, which turns with
    the rotor and dies away, is no resonance and is left out.

    Checked by
    ----------
    tests/studies/scan/test_resonances.py
    """
    found = eigvals(state_matrix(setting, row), overwrite_a=True, check_finite=False)
    ringing = found[(found.imag > 2.0 * np.pi * lowest_hz) & (found.imag < 2.0 * np.pi * highest_hz)
                    & (-found.real < MOST_DAMPING * np.abs(found))]
    modes = [make_resonance(setting, row, s) for s in sorted(ringing, key=lambda s: s.imag)]
    return [mode for mode in modes if mode is not None]


def make_resonance(setting: Setting, row: int, guess: complex) -> Resonance | None:
    """The mode near an eigenvalue; None where no node sees it, or where a rotor carries it."""
    s = polish(setting, row, guess)
    if s is None:
        return None
    left, right = null_vectors(setting, row, s)
    if row == POSITIVE and find_turning(setting, s, left, right) > TURNS:
        return None
    return describe_mode(setting, row, s, left, right)


def scale(setting: Setting, matrix: np.ndarray) -> np.ndarray:
    """Matrix between voltages and currents per unit of nominal voltage. [VA]"""
    volts = setting.network.node_volts
    return volts[:, None] * matrix * volts


def differentiate(setting: Setting, row: int, s: complex) -> np.ndarray:
    """Derivative of the scaled matrix by s. [VA s]"""
    high, low = (whole_matrix(setting, s * (1.0 + nudge), row) for nudge in (NUDGE, -NUDGE))
    return scale(setting, high - low) / (2.0 * NUDGE * s)


def polish(setting: Setting, row: int, guess: complex) -> complex | None:
    """Complex frequency near a guess at which the matrix is singular, by Newton's method on Y(s) v = 0.

    None when there is none within `STRAYED`.
    """
    s, (_, v) = guess, null_vectors(setting, row, guess)
    for _ in range(NEWTON_STEPS):
        following = solve(scale(setting, whole_matrix(setting, s, row)), differentiate(setting, row, s) @ v)
        if following is None:
            return s
        step = np.vdot(v, v) / np.vdot(v, following)
        s, v = s - step, following / np.linalg.norm(following)
        if not abs(s - guess) < STRAYED * abs(guess):
            return None
        if abs(step) < SETTLED * abs(s):
            return s
    return s if abs(step) < GOOD * abs(s) else None


def solve(matrix: np.ndarray, right: np.ndarray) -> np.ndarray | None:
    """Solution of a linear system, None when its matrix is singular to the last digit."""
    try:
        return np.linalg.solve(matrix, right)
    except np.linalg.LinAlgError:
        return None


def null_vectors(setting: Setting, row: int, s: complex) -> tuple[np.ndarray, np.ndarray]:
    """Vectors u and v for which u^H Y and Y v are least, per unit."""
    left, _, right = np.linalg.svd(scale(setting, whole_matrix(setting, s, row)))
    return left[:, -1], right[-1].conj()


def find_turning(setting: Setting, s: complex, left: np.ndarray, right: np.ndarray) -> float:
    """By how much a mode's frequency follows the speed of all rotors: ds/d(jn), 0 of the network, 1 of a cage."""
    if not len(setting.rotor):
        return 0.0
    change = NUDGE * abs(s)
    faster, slower = (whole_matrix(setting, s, POSITIVE, setting.rotor + shift) for shift in (change, -change))
    by_rotor = scale(setting, faster - slower) / (2j * change)
    slope = np.vdot(left, differentiate(setting, POSITIVE, s) @ right)
    return float((-np.vdot(left, by_rotor @ right) / slope).real)


def describe_mode(setting: Setting, row: int, s: complex, left: np.ndarray, right: np.ndarray) -> Resonance:
    """A resonance with its shape, participations and gains."""
    network = setting.network
    weight = np.abs(left.conj() * right)
    outer = np.array([not is_inner(name) for name in network.node_names])
    worst = int(np.argmax(np.where(outer, weight, 0.0)))
    source = int(network.tables.islands.source[network.tables.nodes.island[worst]])
    gain = np.zeros(len(right), dtype=complex)
    if row == POSITIVE and source >= 0:
        gain = find_gains(setting, 1j * s.imag, source)
        if gain[worst] == 0.0:          # behind an open switch
            source, gain = -1, np.zeros_like(gain)
    return Resonance(SEQUENCES[row], complex(s), right / right[np.argmax(np.abs(right))], weight / weight.sum(),
                     source, gain)


def find_gains(setting: Setting, s: complex, source: int, rotor: np.ndarray | None = None) -> np.ndarray:
    """Voltage of every node over that behind the impedance of a source, both per unit of nominal, shape (N,).

    Parameters
    ----------
    setting : Setting
    s : complex
        [rad/s]
    source : int
        Row of the source; the others are short circuits.
    rotor : ndarray, shape (A,), optional
        Electrical speeds, those of the setting by default. [rad/s]
    """
    network = setting.network
    matrix = whole_matrix(setting, s, POSITIVE, rotor)
    return np.linalg.solve(matrix, drive_one(network, s, source)) / network.node_volts


def drive_one(network: Network, s: Any, source: int) -> np.ndarray:
    """Currents into the nodes from one source at 1 pu of the nominal voltage of its node, shape (..., N). [A]

    Behind a drive's impedance that is its rated voltage.
    """
    emf = np.zeros(len(network.source_names), dtype=complex)
    emf[source] = network.node_volts[find_node(network, source)]
    return inject(network, spread(network, s), emf)


def find_node(network: Network, source: int) -> int:
    """Node that a source feeds."""
    links, b = network.tables.links, network.tables.sources.link[source]
    return int(links.end[b] if links.end[b] >= 0 else links.start[b])
