"""Statistics of the overvoltages that closings at random leave at every node, and what they say of its insulation.

The 2 % value is the voltage that 2 % of closings exceed: the representative slow-front overvoltage of IEC 60071-2
(its clause on statistical distributions; from memory, to be checked).  It is the empirical 98 % quantile; between
two closings it is interpolated so that its median is right whatever the distribution (Hyndman and Fan, The American
Statistician 50, 1996, definition 8).  Its interval comes from order statistics alone: the number of closings below
the true quantile is binomial, so that the rank of a closing bounds it, without any assumption on the distribution.
"""

from math import lgamma, log
from typing import Any

import numpy as np

from sim.measures.verdict.criteria import judge
from sim.measures.voltages.overvoltage import PHASE_EARTH_CREST, PHASE_PHASE_CREST, find_withstand
from sim.results.run import ClosingPeaks

EXCEEDED = 0.02         # share of closings above the 2 % value
CONFIDENCE = 0.9        # of the interval around it; half of the rest on either side
FEWEST = 149            # closings of which the largest exceeds the true 2 % value in 95 % of series: 1 - 0.98^n


def measure_closings(result: Any) -> dict | None:
    """The summary's `statistics`; None without closings.

    Peaks are per unit of the crest of nominal phase voltage, those between phases of the crest of nominal
    line-to-line voltage.

    Checked by
    ----------
    tests/measures/switching/test_closings.py
    """
    peaks = result.closings
    if peaks is None or not len(peaks.numbers):
        return None
    nodes = {node.name: measure_node(node, peaks, peaks.nodes.index(node.name)) for node in result.case.nodes
             if node.name in peaks.nodes}
    return {"shots": len(peaks.numbers), "asked": peaks.count, "seed": peaks.seed, "breaker": peaks.breaker,
            "nodes": nodes}


def measure_node(node: Any, peaks: ClosingPeaks, column: int) -> dict[str, float | int | None]:
    """Statistics of one node."""
    base, withstand = PHASE_EARTH_CREST * node.nominal_v, find_withstand(node)[0]
    earth = peaks.phase_earth[:, column] / base
    between = peaks.phase_phase[:, column] / (PHASE_PHASE_CREST * node.nominal_v)
    level, (low, high) = find_level(earth), bound_level(earth)
    highest = max(level * base, find_level(between) * PHASE_PHASE_CREST * node.nominal_v)
    return {"mean_pu": float(earth.mean()), "std_pu": float(earth.std(ddof=1)) if len(earth) > 1 else None,
            "ue2_pu": level, "ue2_low_pu": low, "ue2_high_pu": high, "max_pu": float(earth.max()),
            "up2_pu": find_level(between), "ue2_kv": level * base / 1e3, "max_kv": float(earth.max()) * base / 1e3,
            "worst": describe_closing(peaks, int(np.argmax(earth))),
            "withstand_pu": None if withstand is None else withstand / base,
            "ue2_withstand_pct": None if withstand is None else 100.0 * highest / withstand}


def describe_closing(peaks: ClosingPeaks, row: int) -> dict:
    """What chance decided of one closing, enough to repeat it by itself."""
    order = float(peaks.orders[row])
    return {"number": int(peaks.numbers[row]), "order_s": order,
            "poles_s": [order + float(delay) for delay in peaks.delays[row]],
            "charges_pu": {cable: peaks.charges[row, k].tolist() for k, cable in enumerate(peaks.cables)}}


def find_level(values: np.ndarray, exceeded: float = EXCEEDED) -> float:
    """Value that a share of closings exceeds, shape (m,)."""
    return float(np.quantile(values, 1.0 - exceeded, method="median_unbiased"))


def bound_level(values: np.ndarray, exceeded: float = EXCEEDED) -> tuple[float | None, float | None]:
    """Interval of that value with a confidence of 90 %; None on a side that so few closings do not bound."""
    ordered, below = np.sort(values), sum_binomial(len(values), 1.0 - exceeded)
    tail = 0.5 * (1.0 - CONFIDENCE)
    # below[k] is the chance that at most k closings lie under the true value
    low = np.flatnonzero(below <= tail)
    high = np.flatnonzero(below[:-1] >= 1.0 - tail)
    return (float(ordered[low[-1]]) if len(low) else None, float(ordered[high[0]]) if len(high) else None)


def sum_binomial(n: int, share: float) -> np.ndarray:
    """Chance of at most k hits in n trials, k from 0 to n, shape (n + 1,)."""
    terms = [lgamma(n + 1) - lgamma(k + 1) - lgamma(n - k + 1) + k * log(share) + (n - k) * log(1.0 - share)
             for k in range(n + 1)]
    return np.minimum(np.cumsum(np.exp(terms)), 1.0)


def judge_closings(result: Any, statistics: dict | None) -> list[dict]:
    """The 2 % value of every node against its withstand voltage; nothing without closings."""
    if statistics is None:
        return []
    return [judge_level(result.case, node, statistics) for node in result.case.nodes
            if node.name in statistics["nodes"]]


def judge_level(case: Any, node: Any, statistics: dict) -> dict:
    """One node; a level that passes is not assessed when too few closings bound it from above."""
    measured, (withstand, origin) = statistics["nodes"][node.name], find_withstand(node)
    if withstand is None:
        return judge(case.criteria, "statistical_peak", node.name, None, origin)
    value = measured["ue2_withstand_pct"]
    judged = judge(case.criteria, "statistical_peak", node.name, value)
    if judged["level"] != "fail" and measured["ue2_high_pu"] is None:
        return judge(case.criteria, "statistical_peak", node.name, value,
                     f"{statistics['shots']} closings do not bound the 2 % value from above: ask for {FEWEST} or more")
    return judged | {"basis": f"{judged['basis']}; {origin}, {withstand / 1e3:g} kV"}
