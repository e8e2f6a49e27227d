"""Recovery voltage across the open poles of a breaker, and the envelope that IEC 62271-100 tests it with.

The recovery begins when a pole interrupts and ends when it closes or re-ignites.  Its rate of rise is the slope of
the steepest line through its origin that touches it, counted from the delay of the standard's envelope on.
"""

import re
from dataclasses import dataclass
from typing import Any

import numpy as np

from sim.measures.signals.axis import join_signal, join_times

PHASES = "abc"
FIRST_POLE = 1.5            # first-pole-to-clear factor of a network without earthed neutral
AMPLITUDE = 1.4             # amplitude factor of terminal fault at full current (T100)
DELAY_SHARE = 0.15          # delay of the envelope, of its rise time, class S1
DELAY_LEVEL = 1.0 / 3.0     # share of the peak up to which the delay line runs
ENDINGS = ("close", "pole_close", "reignition")
# Rated voltage [kV] -> time to the peak along the straight rise [us].  IEC 62271-100, terminal fault T100, breakers
# of class S1 (cable systems).  From memory, to be checked; peak over time gives the standard's rates of rise.
RISE_TIME_US = {3.6: 41.0, 7.2: 51.0, 12.0: 61.0, 17.5: 71.0, 24.0: 87.0, 36.0: 109.0, 52.0: 131.0, 72.5: 165.0}
LEAST_SAMPLES = 5           # within the rise time: then half a period of the study's bandwidth is no longer than it
ROUNDING = 1e-9


@dataclass(frozen=True)
class Envelope:
    """Standard recovery voltage of one rated voltage.

    `rated` and `peak` in [V], `rise_time` from zero to the peak along the straight rise [s].
    """

    rated: float
    peak: float
    rise_time: float

    @property
    def rate(self) -> float:
        """Slope of the rise. [V/s]"""
        return self.peak / self.rise_time

    @property
    def delay(self) -> float:
        """Time at zero before the delay line rises. [s]"""
        return DELAY_SHARE * self.rise_time


@dataclass(frozen=True)
class OpenSpan:
    """Time in which one pole stood open after it interrupted, [s]; an open end is infinite."""

    pole: str
    begin: float
    end: float


@dataclass(frozen=True)
class Recovery:
    """Recovery voltage over one span: its peak [V], when [s], rate of rise [V/s], widest sampling of the rise [s].

    `rate` and `sampling` are None when no envelope tells from where the rise counts.
    """

    peak: float
    time: float
    rate: float | None
    sampling: float | None


def find_envelope(rated: float | None) -> tuple[Envelope | None, str]:
    """Envelope of terminal fault T100, class S1, and where it comes from.

    Parameters
    ----------
    rated : float or None
        Rated voltage of the breaker. [V]

    Returns
    -------
    envelope : Envelope or None
        None, with the reason, without a rated voltage or outside 3.6 to 72.5 kV: above, the standard knows class S1
        no longer and gives four parameters.
    words : str

    Sources
    -------
    IEC 62271-100 (from memory, to be checked): peak 1.5 x 1.4 x sqrt(2/3) of the rated voltage; rise times as in
    `RISE_TIME_US`, on straight lines between the classes.

    Checked by
    ----------
    tests/measures/switching/test_recovery.py
    """
    if rated is None:
        return None, "no rated voltage known (rated_kv of the breaker, um_kv of its node)"
    kv, classes = rated / 1e3, list(RISE_TIME_US)
    if not classes[0] * (1.0 - ROUNDING) <= kv <= classes[-1] * (1.0 + ROUNDING):
        return None, f"no envelope held for a rated voltage of {kv:g} kV; class S1 has 3.6 to 72.5 kV"
    peak = FIRST_POLE * AMPLITUDE * np.sqrt(2.0 / 3.0) * rated
    rise_time = 1e-6 * float(np.interp(kv, classes, list(RISE_TIME_US.values())))
    envelope = Envelope(rated, float(peak), rise_time)
    return envelope, f"rated voltage {kv:g} kV, class S1: {peak / 1e3:.3g} kV, {1e-9 * envelope.rate:.2f} kV/us"


def find_open_spans(result: Any, breaker: str) -> list[OpenSpan]:
    """Spans in which each pole of a breaker stood open after interrupting, pole by pole in order of time."""
    events = [event for event in result.events if event.where == breaker and event.what in ("pole_open", *ENDINGS)]
    return [span for pole in PHASES for span in list_pole_spans(events, list_opened(result, breaker, pole), pole)]


def list_opened(result: Any, breaker: str, pole: str) -> list[float]:
    """Interruptions of one pole that the engine recorded. [s]"""
    recorded = getattr(result, "interruptions", [])
    return [record.opened for record in recorded
            if record.switch == breaker and record.pole == pole and record.opened is not None]


def list_pole_spans(events: list, opened: list[float], pole: str) -> list[OpenSpan]:
    """Open spans of one pole from the events of its breaker and the recorded interruptions [s]."""
    steps = [(event.t, event.what == "pole_open") for event in events if concerns(event, pole)]
    steps += [(t, True) for t in opened if all(abs(t - known) > ROUNDING for known, opens in steps if opens)]
    spans, begin = [], None
    for t, opens in sorted(steps, key=lambda step: step[0]):
        if not opens and begin is not None:
            spans.append(OpenSpan(pole, begin, t))
        begin = (t if begin is None else begin) if opens else None
    return spans if begin is None else [*spans, OpenSpan(pole, begin, np.inf)]


def concerns(event: Any, pole: str) -> bool:
    """Whether an event is about this pole; one that names no pole is about all of them."""
    named = re.search(r"\bpole ([abc])\b", event.label)
    return named is None or named[1] == pole


def trace_recovery(result: Any, breaker: Any, span: OpenSpan) -> tuple[np.ndarray, np.ndarray]:
    """Time [s] and voltage [V] across a pole over one span, shapes (n,); empty where no waveform was stored."""
    near, far = (join_signal(result, node, f"voltage_{span.pole}") for node in (breaker.from_node, breaker.to_node))
    if near is None or far is None:
        return np.empty(0), np.empty(0)
    t, across = join_times(result), near - far
    kept = (t > span.begin) & (t < span.end) & np.isfinite(across)
    return t[kept], across[kept]


def measure_recovery(t: np.ndarray, across: np.ndarray, begin: float, envelope: Envelope | None) -> Recovery | None:
    """Peak and rate of rise of one recovery.

    Parameters
    ----------
    t, across : ndarray, shape (n,)
        Time after `begin` [s] and voltage across the pole [V].
    begin : float
        When the pole interrupted: the origin, at zero voltage. [s]
    envelope : Envelope or None

    Returns
    -------
    recovery : Recovery or None
        None without samples.
    """
    if not len(t):
        return None
    since, size = t - begin, np.abs(across)
    k = int(np.argmax(size))
    rate = sampling = None
    if envelope is not None:
        rate = find_rate(since, size, envelope.delay)
        rise = since[since <= envelope.rise_time + 2.0 * since[0]]
        sampling = float(np.diff(rise, prepend=0.0).max())
    return Recovery(float(size[k]), float(t[k]), rate, sampling)


def find_rate(since: np.ndarray, size: np.ndarray, delay: float) -> float:
    """Slope of the steepest line through the origin that touches the curve at or after the delay. [V/s]

    Before the delay the quotient is that of two small numbers, and the standard lets the curve be.
    """
    at_delay = np.interp(delay, np.concatenate([[0.0], since]), np.concatenate([[0.0], size])) / delay
    late = since >= delay
    return float(max(at_delay, np.max(size[late] / since[late], initial=0.0)))


def is_resolved(sampling: float, envelope: Envelope) -> bool:
    """Whether samples this far apart [s] hold a rise as steep as the envelope's."""
    return LEAST_SAMPLES * sampling <= envelope.rise_time * (1.0 + 1e-6)
