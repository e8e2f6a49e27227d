"""What the poles of each breaker went through: waits for a zero, chopped currents, recovery, re-ignitions."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from sim.measures.signals.axis import Clock
from sim.measures.switching.recovery import (
    Envelope,
    Recovery,
    find_envelope,
    find_open_spans,
    measure_recovery,
    trace_recovery,
)
from sim.measures.switching.zeros import find_longest, find_wait
from sim.results.run import Interruption

PHASE_CREST = np.sqrt(2.0 / 3.0)
OPENINGS = ("open", "pole_open")
NOTHING = dict.fromkeys(("recovery_peak_kv", "recovery_peak_pu", "recovery_rate_kv_per_us", "missing_zero_cycles",
                         "reignitions", "chopped_a")) | {"poles": []}


@dataclass(frozen=True)
class Operated:
    """One breaker as it is judged.

    `entry` is the summary's; `envelope` its standard one, or None and why in `words`; `sampling` the widest sampling of
    a rise [s]; `opposed` the largest voltage that both sides, opposed, could have made across an open pole where the
    envelope engine carried the run and no phase is known [V].
    """

    entry: dict
    opened: bool
    envelope: Envelope | None
    words: str
    sampling: float | None
    opposed: float


@dataclass(frozen=True)
class PoleOutcome:
    """One pole after one order to open, and its recoveries up to the next order."""

    record: Interruption
    recoveries: list[Recovery]
    wait: float


def measure_breaker(result: Any, breaker: Any, frequency: Clock) -> Operated:
    """Everything measured on one breaker.

    Parameters
    ----------
    result : RunResult
    breaker : Record
    frequency : callable
        Frequency of the breaker's source [Hz] at a time [s].

    Returns
    -------
    operated : Operated
        The entry's values are None where the run does not tell them; `missing_zero_cycles` counts what exceeds the
        half cycle that every sine takes from zero to zero.

    Checked by
    ----------
    tests/measures/switching/test_breakers.py
    """
    envelope, words = find_envelope(find_rated(result.case, breaker))
    outcomes = list_outcomes(result, breaker, envelope, frequency)
    longest = find_longest(result, breaker, frequency)
    waits = [outcome.wait for outcome in outcomes] + ([] if longest is None else [longest.cycles])
    samplings = [found.sampling for outcome in outcomes for found in outcome.recoveries if found.sampling is not None]
    entry = NOTHING | {"missing_zero_cycles": max(waits, default=None)}
    if outcomes:
        entry |= sum_up([describe_pole(outcome) for outcome in outcomes], find_rated(result.case, breaker))
    opened = any(mark.where == breaker.name and mark.what in OPENINGS for mark in result.events)
    return Operated(entry, opened or bool(outcomes), envelope, words, max(samplings, default=None),
                    find_opposed(result, breaker) if outcomes else 0.0)


def find_opposed(result: Any, breaker: Any) -> float:
    """Largest sum of the crests to earth on both sides of an open pole in envelope stretches. [V]"""
    spans, largest = find_open_spans(result, breaker.name), 0.0
    for stretch in result.stretches:
        sides = [stretch.signals.get(node, {}).get("voltage") for node in (breaker.from_node, breaker.to_node)]
        if stretch.engine == "envelope" and all(side is not None for side in sides):
            inside = np.any([(stretch.t > span.begin) & (stretch.t < span.end) for span in spans], axis=0)
            largest = max(largest, PHASE_CREST * float(np.max((sides[0] + sides[1])[inside], initial=0.0)))
    return largest


def find_rated(case: Any, breaker: Any) -> float | None:
    """Rated voltage of a breaker: its own, else the highest voltage of its nodes; None when neither is known. [V]"""
    own = getattr(breaker, "rated_v", None)
    if own is not None:
        return own
    near = [node.um_v for node in case.nodes if node.name in (breaker.from_node, breaker.to_node)]
    return max((um for um in near if um is not None), default=None)


def list_outcomes(result: Any, breaker: Any, envelope: Envelope | None, frequency: Clock) -> list[PoleOutcome]:
    """What became of every order to every pole, in order of time."""
    records = [record for record in getattr(result, "interruptions", []) if record.switch == breaker.name]
    spans = find_open_spans(result, breaker.name) if records else []
    outcomes = []
    for record in sorted(records, key=lambda record: (record.ordered, record.pole)):
        later = [other.ordered for other in records if other.pole == record.pole and other.ordered > record.ordered]
        own = [span for span in spans if span.pole == record.pole
               and record.ordered <= span.begin < min(later, default=np.inf)]
        found = [measure_recovery(*trace_recovery(result, breaker, span), span.begin, envelope) for span in own]
        first = own[0].begin if own else record.opened
        outcomes.append(PoleOutcome(record, [one for one in found if one is not None],
                                    find_wait(result, breaker, record, first, frequency)))
    return outcomes


def describe_pole(outcome: PoleOutcome) -> dict[str, Any]:
    """Entry of one pole; the peak is that of all solver steps, of which only some are stored."""
    record = outcome.record
    peak, when = max([(one.peak, one.time) for one in outcome.recoveries] +
                     ([] if record.opened is None else [(record.recovery_peak, record.recovery_time)]),
                     default=(None, None))
    rate = max((one.rate for one in outcome.recoveries if one.rate is not None), default=None)
    return {"pole": record.pole, "ordered_s": record.ordered, "separated_s": record.separated,
            "opened_s": record.opened, "chopped_a": abs(record.chopped),
            "recovery_peak_kv": None if peak is None else peak / 1e3, "recovery_time_s": when,
            "recovery_rate_kv_per_us": None if rate is None else 1e-9 * rate,
            "zero_wait_cycles": outcome.wait, "reignitions": record.reignitions}


def sum_up(poles: list[dict], rated: float | None) -> dict[str, Any]:
    """Entry of a breaker from those of its poles: the largest of each, the sum of the re-ignitions."""
    peak = find_largest(poles, "recovery_peak_kv")
    crest = None if rated is None else PHASE_CREST * rated / 1e3
    return {"recovery_peak_kv": peak, "recovery_peak_pu": None if peak is None or crest is None else peak / crest,
            "recovery_rate_kv_per_us": find_largest(poles, "recovery_rate_kv_per_us"),
            "reignitions": sum(pole["reignitions"] for pole in poles),
            "chopped_a": find_largest(poles, "chopped_a"), "poles": poles}


def find_largest(poles: list[dict], key: str) -> float | None:
    """Largest value of one key among the poles, None when none has one."""
    return max((pole[key] for pole in poles if pole[key] is not None), default=None)
