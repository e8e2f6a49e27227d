"""Voltage sag of a node: residual voltage, depth and duration by the rule of IEC 61000-4-30.

A dip begins with the first value below the threshold and ends with the first at or above threshold plus
hysteresis; with three channels the lowest phase decides both.  Only windows in which the node was fed and
the source had at least 90 % of its rated frequency count.  Behind a drive the voltage is meant to follow
the frequency, so below rated frequency it is referred to the proportional value, base * f / rated f.
"""

from dataclasses import dataclass

import numpy as np

from sim.measures.signals.axis import CycleAxis
from sim.measures.signals.rms import Urms
from sim.measures.supply import Span

THRESHOLD_PU = 0.90
HYSTERESIS_PU = 0.02
FULL_FREQUENCY_PU = 0.90


@dataclass(frozen=True)
class Sag:
    """Sag of one node; voltages in per unit of its base, `duration` in [s], `depth` in per unit.

    `depth` is what is missing from the base at the lowest value (0 when nothing is), `duration` that of
    the dip holding the lowest value (0 when the threshold was never passed).
    """

    initial: float
    lowest: float
    depth: float
    duration: float


def select_windows(axis: CycleAxis, spans: list[Span], rated: float) -> np.ndarray:
    """Mark the windows in which sag is measured.

    Parameters
    ----------
    axis : CycleAxis
    spans : list of Span
        When the node was fed.
    rated : float
        Rated frequency of the island. [Hz]

    Returns
    -------
    selected : ndarray of bool, shape (k - 2,)
    """
    inside = np.zeros(len(axis.starts), dtype=bool)
    for span in spans:
        inside |= (axis.starts >= span.start - 1e-12) & (axis.ends <= span.end + 1e-12)
    return inside & (window_frequency(axis) >= FULL_FREQUENCY_PU * rated)


def window_frequency(axis: CycleAxis) -> np.ndarray:
    """Lowest frequency at the edges of each window, shape (k - 2,). [Hz]"""
    f = axis.frequency
    return np.minimum(np.minimum(f[:-2], f[1:-1]), f[2:])


def expected_share(axis: CycleAxis, rated: float, drive_fed: bool) -> np.ndarray:
    """Share of the base voltage that the source means to give, shape (k - 2,); 1 behind a grid."""
    if not drive_fed:
        return np.ones(len(axis.starts))
    return np.minimum(axis.frequency[1:-1] / rated, 1.0)


def measure_sag(urms: Urms, axis: CycleAxis, selected: np.ndarray, base: np.ndarray) -> Sag | None:
    """Sag of a node over the selected windows.

    Parameters
    ----------
    urms : Urms
    axis : CycleAxis
    selected : ndarray of bool, shape (k - 2,)
    base : ndarray, shape (k - 2,)
        Voltage that counts as 1 pu in each window. [V]

    Returns
    -------
    sag : Sag or None
        None when no window counts.

    Sources
    -------
    IEC 61000-4-30: threshold usually 90 % of the declared voltage, hysteresis usually 2 % of it, residual
    voltage = lowest Urms(1/2) (from memory, to be checked).

    Checked by
    ----------
    tests/measures/voltages/test_sag.py
    """
    selected = selected & np.isfinite(urms.lowest)
    if not selected.any():
        return None
    u = urms.lowest / base
    lowest = float(u[selected].min())
    deepest = min(find_dips(u, axis.ends, selected), key=lambda dip: dip[2], default=(0.0, 0.0, 1.0))
    return Sag(float(u[selected][0]), lowest, max(0.0, 1.0 - lowest), deepest[1] - deepest[0])


def find_dips(u: np.ndarray, t: np.ndarray, selected: np.ndarray) -> list[tuple[float, float, float]]:
    """Dips as (begin [s], end [s], residual [pu]); one that outlasts its windows ends with them."""
    dips = []
    begin = residual = None
    for value, time, counts, more in zip(u, t, selected, [*selected[1:], False]):
        if not counts:
            continue
        if begin is None and value < THRESHOLD_PU:
            begin, residual = time, value
        if begin is None:
            continue
        residual = min(residual, value)
        if value >= THRESHOLD_PU + HYSTERESIS_PU or not more:
            dips.append((float(begin), float(time), float(residual)))
            begin = None
    return dips
