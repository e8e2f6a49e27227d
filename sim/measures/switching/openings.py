"""What openings of a breaker at many moments leave: a range, for a single opening says next to nothing.

Whether a gap re-ignites hangs on how long before a current zero its contacts part, and how far it escalates on the last
digit of everything.  Median and 95 % value of the openings are held against the limits; both are empirical quantiles
whose median is right whatever the distribution (Hyndman and Fan, The American Statistician 50, 1996, definition 8).
"""

from typing import Any

import numpy as np

from sim.measures.verdict.criteria import judge
from sim.measures.voltages.overvoltage import PHASE_EARTH_CREST, PHASE_PHASE_CREST, find_withstand
from sim.results.run import OpeningPeaks

SHARE = 0.95            # of openings that the upper value bounds
KIND = "statistical"


def measure_openings(result: Any) -> dict[str, dict]:
    """The summary's `openings`, by breaker; empty where no gap has its strength given.

    Voltages to earth per unit of the crest of nominal phase voltage.  `cut_short` counts the openings that were not
    followed to their end, for they re-ignited too often: their peaks and energies are lower bounds.

    Checked by
    ----------
    tests/measures/switching/test_openings.py
    """
    return {one.breaker: measure_breaker(result.case, one) for one in getattr(result, "openings", [])}


def measure_breaker(case: Any, one: OpeningPeaks) -> dict[str, Any]:
    """Range of one breaker."""
    known = one.reason is None and len(one.moments) > 0
    nodes = {node.name: measure_node(node, one, one.nodes.index(node.name)) for node in case.nodes
             if node.name in one.nodes} if known else {}
    return {"kind": KIND, "openings": len(one.moments), "seed": one.seed, "surge_khz": one.surge_hz / 1e3,
            "reason": one.reason, "reignite": int(np.sum(one.reignitions > 0)) if known else None,
            "reignitions": describe(one.reignitions) if known else None,
            "cut_short": int(np.sum(one.cut)) if known else None, "nodes": nodes,
            "arresters": {name: describe(one.energy[:, k] / 1e3) for k, name in enumerate(one.arresters)} if known
            else {}}


def measure_node(node: Any, one: OpeningPeaks, column: int) -> dict[str, float | None]:
    """Peaks of one node; the worse of both 95 % values, to earth and between phases, against its withstand."""
    earth, between = one.phase_earth[:, column], one.phase_phase[:, column]
    base, withstand = PHASE_EARTH_CREST * node.nominal_v, find_withstand(node)[0]
    highest = max(find_upper(earth), find_upper(between))
    return {**{f"{key}_pu": value for key, value in describe(earth / base).items()},
            "p95_kv": find_upper(earth) / 1e3,
            "up95_pu": find_upper(between) / (PHASE_PHASE_CREST * node.nominal_v),
            "p95_withstand_pct": None if withstand is None else 100.0 * highest / withstand}


def describe(values: np.ndarray) -> dict[str, float]:
    """Median, 95 % value and largest of some values, shape (m,)."""
    return {"median": float(np.median(values)), "p95": find_upper(values), "max": float(np.max(values))}


def find_upper(values: np.ndarray) -> float:
    """Value that 95 % of openings stay below, shape (m,)."""
    return float(np.quantile(values, SHARE, method="median_unbiased"))


def judge_openings(case: Any, ranges: dict[str, dict]) -> list[dict]:
    """The 95 % value of every node against its withstand voltage, for the breaker that leaves the most."""
    rows = []
    for node in case.nodes:
        found = {name: one["nodes"][node.name] for name, one in ranges.items() if node.name in one["nodes"]}
        if not found:
            continue
        name = max(found, key=lambda name: found[name]["p95_pu"])
        withstand, origin = find_withstand(node)
        if withstand is None:
            rows.append(judge(case.criteria, "opening_peak", node.name, None, origin))
            continue
        judged = judge(case.criteria, "opening_peak", node.name, found[name]["p95_withstand_pct"])
        short = ranges[name]["cut_short"]
        if short and judged["level"] != "fail":
            judged = judge(case.criteria, "opening_peak", node.name, found[name]["p95_withstand_pct"],
                           f"{short} openings of {name} re-ignite too often to be followed to their end")
        rows.append(judged | {"basis": f"{judged['basis']}; {describe_range(name, ranges[name])}; {origin}, "
                                       f"{withstand / 1e3:g} kV"})
    return rows


def describe_range(name: str, one: dict) -> str:
    """A range in words."""
    return (f"{KIND}: {one['reignite']} of {one['openings']} openings of {name} at moments spread over a period "
            "re-ignite")


def find_unresolved(ranges: dict[str, dict]) -> str | None:
    """Why peaks may be higher than a run shows, None when no gap is in the way."""
    return next((f"re-ignition of {name} is not resolved: {one['reason']}" for name, one in ranges.items()
                 if one["reason"]), None)
