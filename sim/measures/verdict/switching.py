"""Criteria of breakers, series capacitors and arresters, and of the solution they left.

A breaker is judged when it was told to open or when a stretch holds the currents of its poles; one that only stood by
has nothing to be judged.
"""

from typing import Any

import numpy as np

from sim.measures.findings import Findings
from sim.measures.switching.breakers import Operated
from sim.measures.switching.openings import describe_range, judge_openings
from sim.measures.switching.recovery import is_resolved
from sim.measures.verdict.criteria import judge

NO_RANGE = "one opening alone was followed: another moment may re-ignite"
NO_POLES = "no waveform stretch holds the poles of this breaker"


def judge_switching(case: Any, found: Findings) -> list[dict]:
    """Rows of all breakers, series capacitors and arresters."""
    rows = [row for breaker in case.breakers for row in judge_breaker(case, breaker, found.operated[breaker.name],
                                                                           found.openings.get(breaker.name))]
    if not any(operated.opened for operated in found.operated.values()):
        rows.append(judge(case.criteria, "reignition", "run", None, "no breaker opened in this run"))
    rows += judge_openings(case, found.openings)
    rows += [judge_capacitor(case, capacitor, found) for capacitor in getattr(case, "series_capacitors", [])]
    return rows + [judge_arrester(case, arrester, found) for arrester in getattr(case, "arresters", [])]


def judge_capacitor(case: Any, capacitor: Any, found: Findings) -> dict:
    """Largest voltage across one series capacitor against the level at which its protection acts."""
    volts = found.capacitor_voltage[capacitor.name]
    if capacitor.rated_a is None:
        return judge(case.criteria, "capacitor_voltage", capacitor.name, None, "no rated current given (rated_a)")
    level = capacitor.limit_pu * np.sqrt(2.0) * capacitor.reactance_ohm * capacitor.rated_a
    return judge(case.criteria, "capacitor_voltage", capacitor.name, None if volts is None else 100.0 * volts / level)


def judge_breaker(case: Any, breaker: Any, operated: Operated, opened: dict | None = None) -> list[dict]:
    """Recovery voltage, waits for a zero and re-ignitions of one breaker."""
    rows, waited = [], operated.entry["missing_zero_cycles"]
    if operated.opened:
        rows += [judge_peak(case, breaker, operated), judge_rate(case, breaker, operated),
                 judge_reignition(case, breaker, operated, opened)]
    if operated.opened or waited is not None:
        rows.append(judge(case.criteria, "missing_zeros", breaker.name, waited, NO_POLES if waited is None else None))
    return rows


def judge_peak(case: Any, breaker: Any, operated: Operated) -> dict:
    """Largest recovery voltage against the peak of the standard envelope.

    Where the envelope engine went on with open poles, no phase is known across them.  Both sides may then have come
    into opposition: a peak that would pass is not assessed when that could have failed.
    """
    peak, envelope = operated.entry["recovery_peak_kv"], operated.envelope
    reason = explain_unjudged(operated, peak)
    if peak is None or envelope is None:
        return judge(case.criteria, "recovery_voltage", breaker.name, None, reason)
    if reason is not None:
        return judge(case.criteria, "recovery_voltage", breaker.name, 100.0 * peak * 1e3 / envelope.peak, reason)
    value, opposed = (100.0 * volts / envelope.peak for volts in (1e3 * peak, operated.opposed))
    judged = judge(case.criteria, "recovery_voltage", breaker.name, value)
    if opposed > judged["limit"] >= value:
        return judge(case.criteria, "recovery_voltage", breaker.name, value, explain_opposed(operated))
    zero = "" if getattr(breaker, "chopping_a", None) else "; no chopping (chopping_a is 0)"
    later = f"; {explain_opposed(operated)}" if opposed > value else ""
    return judged | {"basis": f"{judged['basis']}; {operated.words}{zero}{later}"}


def explain_opposed(operated: Operated) -> str:
    """What the envelope engine leaves open."""
    return (f"after the hand-over to the envelope engine both sides, opposed, could make "
            f"{operated.opposed / 1e3:.3g} kV across a pole")


def judge_rate(case: Any, breaker: Any, operated: Operated) -> dict:
    """Steepest rise against the standard's; one that passes although samples lie too far apart is not assessed."""
    rate, envelope = operated.entry["recovery_rate_kv_per_us"], operated.envelope
    reason = explain_unjudged(operated, rate)
    value = None if rate is None or envelope is None else 100.0 * rate * 1e9 / envelope.rate
    judged = judge(case.criteria, "recovery_rate", breaker.name, value, reason)
    if envelope is None or operated.sampling is None or reason is not None or judged["level"] == "fail":
        return judged
    if is_resolved(operated.sampling, envelope):
        return judged
    return judge(case.criteria, "recovery_rate", breaker.name, value,
                 explain_sampling(operated.sampling, envelope.rise_time))


def explain_unjudged(operated: Operated, value: float | None) -> str | None:
    """Why a recovery cannot be held against the standard."""
    if operated.envelope is None:
        return operated.words
    if not operated.entry["poles"]:
        return NO_POLES
    return "no pole interrupted, or no stretch holds the voltages across it" if value is None else None


def explain_sampling(sampling: float, rise: float) -> str:
    """What to do about samples so far apart [s] that they do not hold the standard's rise [s]."""
    return (f"samples {1e6 * sampling:.3g} us apart do not hold a rise of {1e6 * rise:.3g} us: raise "
            f"study.bandwidth_khz to {5e-4 / rise:.2g} or more, in a run not wholly by the waveform engine")


def judge_reignition(case: Any, breaker: Any, operated: Operated, opened: dict | None = None) -> dict:
    """Re-ignitions, where the race between recovery voltage and gap was run: the 95 % value of many openings.

    A single opening that re-ignites fails; one that does not says nothing of the others.
    """
    if getattr(breaker, "recovery_rise_v_per_s", None) is None:
        return judge(case.criteria, "reignition", breaker.name, None,
                     "the strength of the opening gap is not given (recovery_rise_kv_per_ms of the breaker)")
    count = operated.entry["reignitions"]
    if opened is not None and opened["reason"] is None:
        judged = judge(case.criteria, "reignition", breaker.name, opened["reignitions"]["p95"])
        return judged | {"basis": f"{judged['basis']}; {describe_range(breaker.name, opened)}, 95 % value"}
    if count is None:
        return judge(case.criteria, "reignition", breaker.name, None, NO_POLES)
    if opened is not None:
        return judge(case.criteria, "reignition", breaker.name, count, opened["reason"])
    judged = judge(case.criteria, "reignition", breaker.name, count)
    return judged if judged["level"] == "fail" else judge(case.criteria, "reignition", breaker.name, count, NO_RANGE)


def judge_arrester(case: Any, arrester: Any, found: Findings) -> dict:
    """Energy of one arrester against its rating."""
    entry, reason = found.arresters[arrester.name], None
    if entry["energy_kj"] is None:
        reason = "no waveform stretch carried this arrester"
    elif entry["energy_pct"] is None:
        reason = "no energy rating given (energy_kj_per_kv)"
    return judge(case.criteria, "arrester_energy", arrester.name, entry["energy_pct"], reason)


def judge_chatter(result: Any) -> dict:
    """Longest run of alternating steps, which only the waveform engine can leave."""
    steps, node = getattr(result, "chatter_steps", None), getattr(result, "chatter_node", None)
    judged = judge(result.case.criteria, "chatter", "run", steps,
                   "no waveform stretch in this run" if steps is None else None)
    return judged | {"basis": f"{judged['basis']}; longest at {node}"} if steps and node else judged
