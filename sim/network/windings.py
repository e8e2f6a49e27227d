"""Windings of a transformer: letters and clock number, what they do to the zero sequence, and how they sit on limbs.

Angles are counted in clock hours of 30 degrees (IEC 60076-1: the vector of the second winding lags that of the first by
the clock number).  A limb carries one coil of each winding; both coils of a limb see the same flux, so their voltages
are in phase.
"""

import numpy as np

from sim.components.branches.transformer import split_group

HOUR = np.pi / 6.0


def find_windings(text: str) -> tuple[str, str, int]:
    """Winding letters (upper case) and clock number of a vector group such as Dyn11."""
    first, second, clock = split_group(text)
    return first, second.upper(), clock


def find_zero_weights(first: str, second: str, clock: int, ratio: float) -> tuple[float, float]:
    """Weights of the leakage link's ends in the zero sequence: it passes, is shunted to earth, or is blocked."""
    if first == "YN" and second == "YN":
        return (-ratio if clock in (2, 6, 10) else ratio), -1.0     # the coil is wound the other way round
    if first == "YN" and second == "D":
        return ratio, 0.0
    if first == "D" and second == "YN":
        return 0.0, -1.0
    return 0.0, 0.0


def find_limb_angles(first: str, second: str, clock: int) -> tuple[int, int]:
    """By how many hours the coil voltage on limb a leads phase a of its own winding, for both windings.

    A star coil spans a phase (even hours), a delta coil two phases (odd hours).
    """
    start = (-clock if second != "D" else 1) if first == "D" else 0
    return start, start + clock


def coil_weights(letters: str, hours: int) -> np.ndarray:
    """Weights of (alpha, beta, zero) of a node in the coil voltages on limbs a, b, c, shape (3, 3).

    Parameters
    ----------
    letters : str
        "D", "Y" or "YN"; without an earthed star point the zero sequence finds no coil.
    hours : int
        Lead of the coil on limb a before phase a.
    """
    size = np.sqrt(2.0) if letters == "D" else np.sqrt(2.0 / 3.0)
    lead = hours * HOUR - np.arange(3) * 4.0 * HOUR
    zero = np.sqrt(1.0 / 3.0) * (-1.0) ** (hours % 12 // 2) if letters == "YN" else 0.0
    return np.stack([size * np.cos(lead), -size * np.sin(lead), np.full(3, zero)], axis=1)
