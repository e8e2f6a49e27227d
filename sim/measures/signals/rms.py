"""One-cycle RMS voltage refreshed each half cycle: Urms(1/2) of IEC 61000-4-30.

Waveform stretches have phase-to-earth voltages and each phase is a channel.  Envelope stretches have one
magnitude, whose square divided by three is the one-cycle mean square of every phase.  A window that lies
over a hand-over would hold a broken part of a sine, whose square does not average to its mean; there the
magnitude is used on both sides.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial

import numpy as np

from sim.measures.signals.axis import CycleAxis, cycle_mean
from sim.results.run import RunResult, Stretch

PHASES = ("voltage_a", "voltage_b", "voltage_c")


@dataclass(frozen=True)
class Urms:
    """Lowest and highest phase of Urms(1/2), each as a line-to-line value. [V]

    Both have shape (k - 2,) on the windows of the axis; line-to-line means the phase value times sqrt(3).
    """

    lowest: np.ndarray
    highest: np.ndarray


def measure_urms(result: RunResult, node: str, axis: CycleAxis) -> Urms | None:
    """Urms(1/2) of one node over the whole run.

    Parameters
    ----------
    result : RunResult
    node : str
    axis : CycleAxis
        Half cycles of the source that feeds the node.

    Returns
    -------
    urms : Urms or None
        None when the node left no voltage or the run is shorter than one cycle.

    Sources
    -------
    IEC 61000-4-30, definitions of Urms(1/2) and of a dip on several channels (from memory, to be checked).

    Checked by
    ----------
    tests/measures/signals/test_rms.py
    """
    if len(axis.edges) < 3 or not any(node in stretch.signals for stretch in result.stretches):
        return None
    channels = [cycle_mean(axis, squares) for squares in join_channels(result, node)]
    bridges = find_bridges(result, axis)
    if bridges.any():
        whole = cycle_mean(axis, join_squares(result, node, magnitude_square))
        channels = [np.where(bridges, whole, channel) for channel in channels]
    return Urms(to_line(np.minimum.reduce(channels)), to_line(np.maximum.reduce(channels)))


def to_line(mean_square: np.ndarray) -> np.ndarray:
    """Line-to-line RMS from the mean square of a phase voltage. [V]"""
    return np.sqrt(3.0 * mean_square)


def join_channels(result: RunResult, node: str) -> Iterator[np.ndarray]:
    """Yield the squared phase voltage of each channel over the run, shape (n,). [V^2]"""
    if not any(has_phases(stretch, node) for stretch in result.stretches):
        yield join_squares(result, node, magnitude_square)
        return
    for phase in PHASES:
        yield join_squares(result, node, partial(phase_square, phase=phase))


def join_squares(result: RunResult, node: str, square: Callable[[Stretch, str], np.ndarray]) -> np.ndarray:
    """Lay the squares of all stretches end to end, shape (n,). [V^2]"""
    parts = [square(stretch, node) for stretch in result.stretches]
    return parts[0] if len(parts) == 1 else np.concatenate(parts)


def has_phases(stretch: Stretch, node: str) -> bool:
    """Whether the stretch holds all three phase voltages of the node."""
    return all(phase in stretch.signals.get(node, {}) for phase in PHASES)


def phase_square(stretch: Stretch, node: str, phase: str) -> np.ndarray:
    """Square of one phase-to-earth voltage, or its mean square from the magnitude. [V^2]"""
    if not has_phases(stretch, node):
        return magnitude_square(stretch, node)
    return np.square(stretch.signals[node][phase])


def magnitude_square(stretch: Stretch, node: str) -> np.ndarray:
    """Mean square of a phase voltage from the space-vector magnitude, NaN if the node has none. [V^2]"""
    signals = stretch.signals.get(node, {})
    if "voltage" in signals:
        return np.square(signals["voltage"]) / 3.0
    if not has_phases(stretch, node):
        return np.full(len(stretch.t), np.nan)
    phases = np.array([signals[phase] for phase in PHASES])
    return np.square(phases - phases.mean(axis=0)).sum(axis=0) / 3.0


def find_bridges(result: RunResult, axis: CycleAxis) -> np.ndarray:
    """Mark the windows that lie over a hand-over between the engines, shape (k - 2,) of bool."""
    bridges = np.zeros(len(axis.starts), dtype=bool)
    for before, after in zip(result.stretches, result.stretches[1:]):
        if before.engine != after.engine:
            bridges |= (axis.starts < after.t[0]) & (axis.ends > before.t[-1])
    return bridges
