r"""Steady state of any linear three-phase network by nodal admittances in phase coordinates.

A *terminal* is any hashable name, usually (node, phase) with phase 0, 1, 2; None is earth.  An *element* is
a tuple of terminals and its admittance matrix (currents into the element); a source is an element plus the
currents it drives into its terminals.  Nothing is assumed balanced.

Voltages and currents are phasors in the scaling of the sources (rms in, rms out); phases run a, b, c
positive, so the positive sequence has b = a^2 times a with a = exp(j 120 deg).

Source: W. D. Stevenson, *Elements of Power System Analysis*, 4th ed., chapters 7 and 11 (nodal equations,
symmetrical components); transformer winding connections and clock numbers: IEC 60076-1.  From memory, to be
checked.
"""

import numpy as np

TURN = np.exp(2j * np.pi / 3.0)
SEQUENCE = np.array([[1.0, 1.0, 1.0], [1.0, TURN**2, TURN], [1.0, TURN, TURN**2]])   # columns 0, +, -
POSITIVE = SEQUENCE[:, 1]


def terminals(node):
    """The three terminals of a node."""
    return tuple((node, phase) for phase in range(3))


def phase_matrix(zero, positive, negative=None):
    """Phase-coordinate matrix, shape (3, 3), of sequence values; the negative defaults to the positive."""
    values = [zero, positive, positive if negative is None else negative]
    return SEQUENCE @ np.diag(values) @ np.linalg.inv(SEQUENCE)


def sequences(phases):
    """Zero, positive and negative sequence of three phase values."""
    return np.linalg.inv(SEQUENCE) @ np.asarray(phases)


def series_element(first, second, admittance):
    """Element between two lists of terminals; `admittance` is a matrix (n, n) or one value for all. [S]"""
    y = np.eye(len(first)) * admittance if np.ndim(admittance) == 0 else np.asarray(admittance)
    return (*first, *second), np.block([[y, -y], [-y, y]])


def shunt_element(names, admittance):
    """Element from terminals to earth. [S]"""
    return tuple(names), (np.eye(len(names)) * admittance if np.ndim(admittance) == 0 else admittance)


def two_port_element(first, second, zero, positive):
    """Element of a balanced two-port from its (2, 2) admittances per sequence. [S]"""
    blocks = [[phase_matrix(zero[i][j], positive[i][j]) for j in range(2)] for i in range(2)]
    return (*first, *second), np.block(blocks)


def coil_pattern(connection, neutral=None, turns=0, reverse=False):
    """Ends of the three coils of one side, as pairs of phase numbers or neutral.

    `connection` is "Y" or "D"; a delta coil lies from its phase to the next.  `turns` shifts the phase
    names by that many places, `reverse` swaps both ends of every coil.
    """
    pairs = []
    for k in range(3):
        here = (k + turns) % 3
        there = neutral if connection == "Y" else (here + 1) % 3
        pairs.append((there, here) if reverse else (here, there))
    return pairs


def transformer_coils(group):
    """Coil ends of both sides for a vector group such as YNd11 (capitals first side).

    Coils stand opposite each other in phase.  Moving the names on the second side by one place turns the
    clock by 4, swapping the ends by 6; equal windings start at 0, a delta coil a-b opposite a star coil a
    at 11, the reverse at 1.
    Returns pairs of patterns; a neutral is "N1" or "N2", None when earthed.
    """
    head = group.rstrip("0123456789")
    clock = int(group[len(head):])
    split = 2 if head.upper().startswith("YN") else 1
    first, second = head[:split].upper(), head[split:].upper()
    for turns in range(3):
        for reverse in (False, True):
            patterns = [coil_pattern(first[0], None if first == "YN" else "N1"),
                        coil_pattern(second[0], None if second == "YN" else "N2", turns, reverse)]
            if _clock_of(patterns) == clock:
                return patterns
    raise ValueError(f"no connection of windings {head} gives clock number {clock}")


def _clock_of(patterns):
    """Hours by which the second side's phase a lags the first side's in positive sequence."""
    def volt(end):
        return POSITIVE[end] if isinstance(end, int) else 0.0

    first, second = (volt(pattern[0][0]) - volt(pattern[0][1]) for pattern in patterns)
    # the coil voltages of one limb are in phase, so the second side's system is turned by this angle
    return int(round(np.angle(second / first) / (np.pi / 6.0))) % 12


def transformer_element(name, first, second, group, first_volts, second_volts, leakage, first_core=0.0,
                        second_core=0.0):
    """Bank of three two-winding units, connected coil by coil.

    Parameters
    ----------
    name : hashable
        Names the neutrals of unearthed stars.
    first_volts, second_volts : float
        Rated line-to-line voltages, tap included. [V]
    leakage : complex
        Series impedance of the star equivalent on the second side. [ohm]
    first_core, second_core : complex
        Admittance across the windings of either side, star equivalent. [S]
    """
    patterns = transformer_coils(group)
    sides = []
    for node, pattern in zip((first, second), patterns):
        sides.append([[(node, end) if isinstance(end, int) else (name, end) if end else None
                       for end in pair] for pair in pattern])
    delta = [all(isinstance(end, int) for end in pattern[0]) for pattern in patterns]
    # coil values: a delta coil sees sqrt(3) times the star voltage, hence 3 times the star impedance
    rated = (first_volts, second_volts)
    coil_volts = [volts if d else volts / np.sqrt(3.0) for volts, d in zip(rated, delta)]
    cores = [core / 3.0 if d else core for core, d in zip((first_core, second_core), delta)]
    y = 1.0 / (leakage * (3.0 if delta[1] else 1.0))
    n = coil_volts[1] / coil_volts[0]
    coil = np.array([[n * n * y + cores[0], -n * y], [-n * y, y + cores[1]]])
    return [_coil_element(*sides[0][k], *sides[1][k], coil) for k in range(3)]


def _coil_element(a, b, c, d, coil):
    across = np.array([[1.0, -1.0, 0.0, 0.0], [0.0, 0.0, 1.0, -1.0]])
    return (a, b, c, d), across.T @ coil @ across


def solve(elements, currents):
    """Voltages of all terminals.

    Parameters
    ----------
    elements : list of (terminals, matrix)
    currents : dict
        Terminal -> current driven into the network there. [A]

    Returns
    -------
    voltages : dict
        Terminal -> phasor. [V]
    """
    names = list(dict.fromkeys(name for ends, _ in elements for name in ends if name is not None))
    index = {name: k for k, name in enumerate(names)}
    y = np.zeros((len(names), len(names)), dtype=complex)
    for ends, matrix in elements:
        for p, row in enumerate(ends):
            for q, column in enumerate(ends):
                if row is not None and column is not None:
                    y[index[row], index[column]] += matrix[p][q]
    right = np.zeros(len(names), dtype=complex)
    for name, current in currents.items():
        right[index[name]] += current
    return dict(zip(names, np.linalg.solve(y, right)))


def phase_voltages(voltages, node):
    """The three voltages of a node. [V]"""
    return np.array([voltages[name] for name in terminals(node)])


def source(node, emf, zero, positive, negative=None):
    """Balanced source behind sequence impedances: its element and the currents it drives.

    `emf` is the phasor of phase a, phase to earth. [V]; impedances [ohm]; `zero` may be inf (not earthed).
    """
    y = phase_matrix(0.0 if np.isinf(zero) else 1.0 / zero, 1.0 / positive,
                     1.0 / (positive if negative is None else negative))
    return shunt_element(terminals(node), y), dict(zip(terminals(node), y @ (emf * POSITIVE)))
