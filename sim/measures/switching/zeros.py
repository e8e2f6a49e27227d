"""Current zeros: how long the poles of a breaker carry a current that never passes zero.

A pole can interrupt at a zero only.  A sinusoidal current has one every half cycle; a current with an offset larger
than its crest, as after energising a cable with a large share of reactors, has none until the offset has died out.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np

from sim.measures.signals.axis import Clock
from sim.measures.supply import find_spans

PHASES = "abc"
HALF_CYCLE = 0.5
# A current below what every interrupter chops counts as zero (common practice: 3 to 5 A are chopped).
CHOPPED_ANYWAY = 1.0


@dataclass(frozen=True)
class ZeroFree:
    """A stretch of one pole's current without zero: `start` and `end` [s], `cycles` beyond the first half."""

    pole: str
    start: float
    end: float
    cycles: float


def find_floor(breaker: Any) -> float:
    """Current below which a pole of this breaker finds its zero at any time. [A]"""
    return max(CHOPPED_ANYWAY, getattr(breaker, "chopping_a", None) or 0.0)


def find_zeros(t: np.ndarray, i: np.ndarray, floor: float = 0.0) -> tuple[np.ndarray, np.ndarray]:
    """Bounds of the stretches of one sign.

    Parameters
    ----------
    t, i : ndarray, shape (n,)
        Time [s] and current [A], n >= 1.
    floor : float
        A current no larger counts as zero. [A]

    Returns
    -------
    bounds : ndarray, shape (k + 1,)
        First sample, every zero (straight between samples), last sample. [s]
    signs : ndarray, shape (k,)
        Sign between neighbouring bounds, 0 where the current is no larger than the floor.
    """
    sign = np.where(np.abs(i) <= floor, 0.0, np.sign(i))
    k = np.flatnonzero(sign[1:] != sign[:-1])
    crossing = t[k] + (t[k + 1] - t[k]) * i[k] / np.where(i[k] == i[k + 1], 1.0, i[k] - i[k + 1])
    zeros = np.where(sign[k] * sign[k + 1] < 0.0, crossing, np.where(sign[k] == 0.0, t[k], t[k + 1]))
    return np.concatenate([t[:1], zeros, t[-1:]]), sign[np.concatenate([[0], k + 1])]


def list_zeros(t: np.ndarray, i: np.ndarray, floor: float = 0.0) -> np.ndarray:
    """Times at which a current passes zero or touches the floor between two stretches that carry current. [s]

    Time at the floor counts once, in its middle; before the first current and after the last there is no zero to find.
    """
    bounds, signs = find_zeros(t, i, floor)
    carrying = np.flatnonzero(signs)
    if not len(carrying):
        return np.empty(0)
    return 0.5 * (bounds[1:][carrying[:-1]] + bounds[carrying[1:]])


def find_longest(result: Any, breaker: Any, frequency: Clock) -> ZeroFree | None:
    """Longest stretch without zero among the poles of a breaker, in all waveform stretches.

    Parameters
    ----------
    result : RunResult
    breaker : Record
    frequency : callable
        Frequency of the breaker's source [Hz] at a time [s].

    Returns
    -------
    longest : ZeroFree or None
        None when no stretch holds the currents of the poles.  A stretch without zero that was still lasting when
        the samples ended counts as far as they go.  Only time in which either side of the breaker was fed counts: a
        motor that runs down on what is left has slow currents of its own, with all their zeros.

    Checked by
    ----------
    tests/measures/switching/test_zeros.py
    """
    spans = find_spans(result)
    fed = [span for node in (breaker.from_node, breaker.to_node) for span in spans.get(node, [])]
    found = [measure_longest(stretch.t, np.where(is_within(stretch.t, fed), current, 0.0), pole, find_floor(breaker),
                             frequency)
             for stretch in result.stretches if len(stretch.t) for pole in PHASES
             if (current := stretch.signals.get(breaker.name, {}).get(f"current_{pole}")) is not None]
    return max(found, key=lambda gap: gap.cycles) if found else None


def is_within(t: np.ndarray, spans: list) -> np.ndarray:
    """Whether each time [s] lies in any of the spans, shape (n,)."""
    return np.any([(t >= span.start) & (t <= span.end) for span in spans] or [np.zeros(len(t), dtype=bool)], axis=0)


def measure_longest(t: np.ndarray, i: np.ndarray, pole: str, floor: float, frequency: Clock) -> ZeroFree:
    """Longest stretch without zero of one current, shapes (n,); [s], [A]."""
    bounds, signs = find_zeros(t, i, floor)
    lengths = np.diff(bounds) * np.abs(signs)
    k = int(np.argmax(lengths))
    start, end = float(bounds[k]), float(bounds[k + 1])
    return ZeroFree(pole, start, end, count_beyond(lengths[k], frequency(0.5 * (start + end))))


def count_beyond(length: float, frequency: float) -> float:
    """Cycles by which a time [s] exceeds half a cycle."""
    return max(0.0, float(length * frequency) - HALF_CYCLE)


def find_wait(result: Any, breaker: Any, record: Any, first: float | None, frequency: Clock) -> float:
    """Cycles beyond the first half for which an ordered pole waited for its zero after its contacts had parted.

    Parameters
    ----------
    result : RunResult
    breaker : Record
    record : Interruption
    first : float or None
        When the pole first interrupted, None when it never did: then it waited for as long as it carried current.
        [s]
    frequency : callable
        Frequency of the breaker's source [Hz] at a time [s].
    """
    since = max(record.ordered, record.separated)
    until = find_last_current(result, breaker, record.pole, since) if first is None else first
    return count_beyond(max(until - since, 0.0), frequency(since))


def find_last_current(result: Any, breaker: Any, pole: str, since: float) -> float:
    """Last time at which a waiting pole carried current, `since` [s] when it carried none or was closed again."""
    closed_again = min((mark.t for mark in result.events if mark.where == breaker.name and mark.t > since
                        and mark.what in ("close", "pole_close")), default=np.inf)
    last = since
    for stretch in result.stretches:
        current = stretch.signals.get(breaker.name, {}).get(f"current_{pole}")
        if current is not None:
            carrying = stretch.t[(np.abs(current) > find_floor(breaker)) & (stretch.t < closed_again)]
            last = max([last, *carrying[-1:]])
    return float(last)
