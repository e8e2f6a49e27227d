"""One time axis for a whole run, cut into half cycles of the source.

The stretches of a run are laid end to end.  The cycle is the instantaneous one: the phase of the source,
theta = integral of f dt in cycles, is cut at every half, so that a window of two halves holds exactly one
turn of the source at a fixed as well as at a ramped frequency.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from sim.results.run import RunResult

ROUNDING_CYCLES = 1e-9

Clock = Callable[[float], float]        # frequency of a source [Hz] at a time [s]


@dataclass(frozen=True)
class CycleAxis:
    """The samples of a run and the half-cycle marks laid over them.

    Attributes
    ----------
    t : ndarray, shape (n,)
        Time of every sample, stretch after stretch. [s]
    edges : ndarray, shape (k,)
        Time at which each half cycle ends and the next begins. [s]
    index : ndarray of int, shape (k,)
        Sample at or before each edge.
    frequency : ndarray, shape (k,)
        Source frequency at the edges. [Hz]
    half_steps : ndarray, shape (n - 1,)
        Half the time between neighbouring samples: the trapezium rule's weights. [s]
    """

    t: np.ndarray
    edges: np.ndarray
    index: np.ndarray
    frequency: np.ndarray
    half_steps: np.ndarray

    @property
    def starts(self) -> np.ndarray:
        """Where each one-cycle window begins, shape (k - 2,). [s]"""
        return self.edges[:-2]

    @property
    def ends(self) -> np.ndarray:
        """Where each one-cycle window ends, shape (k - 2,). [s]"""
        return self.edges[2:]


def join_times(result: RunResult) -> np.ndarray:
    """Time of all samples of the run, shape (n,). [s]"""
    return np.concatenate([stretch.t for stretch in result.stretches])


def join_signal(result: RunResult, owner: str, quantity: str) -> np.ndarray | None:
    """One signal over the whole run, shape (n,); NaN in stretches without it, None if it is nowhere."""
    parts = [stretch.signals.get(owner, {}).get(quantity) for stretch in result.stretches]
    if all(part is None for part in parts):
        return None
    if len(parts) == 1:
        return parts[0]
    return np.concatenate([np.full(len(stretch.t), np.nan) if part is None else part
                           for part, stretch in zip(parts, result.stretches)])


def join_frequency(result: RunResult, source: str | None, rated: float) -> np.ndarray:
    """Frequency of the source that feeds a node, over the run, shape (n,). [Hz]

    Parameters
    ----------
    result : RunResult
    source : str or None
        Name of the source; None where there is none.
    rated : float
        Rated frequency of the node. [Hz]  It holds behind a source that leaves no frequency of its own, as a grid does,
        and wherever the source stands still and has no cycle.
    """
    own = join_signal(result, source, "frequency") if source else None
    if own is None:
        return np.full(sum(len(stretch.t) for stretch in result.stretches), rated)
    return np.where(np.isfinite(own) & (own > 0.0), own, rated)


def find_source(case: Any, node: str) -> tuple[str | None, float]:
    """Source on the island of a node whose frequency can move, None without one, and the rated frequency there. [Hz]"""
    places = {one.name: (one.island, one.frequency_hz) for one in case.nodes}
    island, rated = places[node]
    return next((drive.name for drive in case.drives if places[drive.node][0] == island), None), rated


def follow_frequency(result: RunResult, node: str) -> Clock:
    """Frequency of what feeds a node [Hz] at a time [s]; the rated one where the source stands still."""
    times, own = join_times(result), join_frequency(result, *find_source(result.case, node))
    return lambda t: float(np.interp(t, times, own))


def cut_cycles(t: np.ndarray, frequency: np.ndarray) -> CycleAxis:
    """Cut a time axis at every half turn of the source.

    Parameters
    ----------
    t : ndarray, shape (n,)
        Time, not decreasing, n >= 2. [s]
    frequency : ndarray, shape (n,)
        Source frequency, > 0. [Hz]

    Returns
    -------
    axis : CycleAxis
        Windows are counted from the first sample.  IEC 61000-4-30 starts them at each channel's own zero
        crossing; the two agree for every change that lasts longer than one cycle.
    """
    turned = np.zeros_like(t)
    np.cumsum(0.5 * (frequency[1:] + frequency[:-1]) * np.diff(t), out=turned[1:])
    count = int(np.floor(2.0 * (turned[-1] + ROUNDING_CYCLES)))
    edges = np.interp(0.5 * np.arange(count + 1), turned, t)
    return place_edges(t, edges, np.interp(edges, t, frequency))


def cut_evenly(t: np.ndarray, period: float) -> CycleAxis:
    """Cut a time axis into windows of one fixed `period` [s], refreshed each half period."""
    count = int(np.floor(2.0 * ((t[-1] - t[0]) / period + ROUNDING_CYCLES)))
    edges = np.minimum(t[0] + 0.5 * period * np.arange(count + 1), t[-1])
    return place_edges(t, edges, np.full(count + 1, 1.0 / period))


def place_edges(t: np.ndarray, edges: np.ndarray, frequency: np.ndarray) -> CycleAxis:
    """Find the sample before each edge."""
    index = np.clip(np.searchsorted(t, edges, side="right") - 1, 0, max(len(t) - 2, 0))
    return CycleAxis(t, edges, index, frequency, 0.5 * np.diff(t))


def cycle_mean(axis: CycleAxis, y: np.ndarray) -> np.ndarray:
    """Mean of `y` over each one-cycle window, by the trapezium rule.

    Parameters
    ----------
    axis : CycleAxis
    y : ndarray, shape (n,)
        Any signal on `axis.t`.

    Returns
    -------
    mean : ndarray, shape (k - 2,)
        In the unit of `y`; NaN where the window touches a NaN, empty when the run is shorter than a cycle.
    """
    if len(axis.edges) < 3:
        return np.empty(0)
    halves = half_cycle_integrals(axis, y)
    return (halves[:-1] + halves[1:]) / (axis.ends - axis.starts)


def half_cycle_integrals(axis: CycleAxis, y: np.ndarray) -> np.ndarray:
    """Integral of `y` between neighbouring edges, shape (k - 1,)."""
    areas = y[1:] + y[:-1]
    areas *= axis.half_steps
    whole = np.add.reduceat(areas, axis.index)[:-1]
    whole[axis.index[1:] == axis.index[:-1]] = 0.0
    return whole + np.diff(integral_since_sample(axis, y))


def integral_since_sample(axis: CycleAxis, y: np.ndarray) -> np.ndarray:
    """Integral of `y` from the sample before each edge up to that edge, shape (k,)."""
    i = axis.index
    width = axis.t[i + 1] - axis.t[i]
    along = axis.edges - axis.t[i]
    slope = (y[i + 1] - y[i]) / np.where(width > 0.0, width, 1.0)
    return along * (y[i] + 0.5 * slope * along)
