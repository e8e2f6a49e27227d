"""Ranges over openings at many moments: quantiles by hand, and levels that say what is not known."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from sim.components.study.criteria import DEFAULTS
from sim.measures.switching.openings import find_unresolved, find_upper, judge_openings, measure_openings
from sim.results.run import OpeningPeaks

BASE = 6600.0
CREST = np.sqrt(2.0 / 3.0) * BASE
NODE = SimpleNamespace(name="motor", nominal_v=BASE, um_v=7200.0, lightning_withstand_v=None)
CASE = SimpleNamespace(nodes=[NODE], criteria=SimpleNamespace(**DEFAULTS))
EARTH = np.linspace(1.0, 3.0, 20)
MADE = OpeningPeaks("gear", 1, 105e3, ("motor",), ("guard",), np.linspace(0.0, 0.019, 20), CREST * EARTH[:, None],
                    np.full((20, 1), 2.0 * BASE), np.array([0] * 15 + [4, 5, 6, 7, 8]),
                    1e3 * np.arange(20.0)[:, None], np.zeros(20, bool))


def measure(made=MADE):
    return measure_openings(SimpleNamespace(case=CASE, openings=[made]))


def test_range_of_a_node_and_of_an_arrester():
    """Rank of the 95 % value of 20, definition 8 of Hyndman and Fan: 0.95 (20 + 1/3) + 1/3 = 19.65."""
    one = measure()["gear"]
    assert (one["openings"], one["reignite"], one["cut_short"], one["kind"]) == (20, 5, 0, "statistical")
    assert one["nodes"]["motor"]["median_pu"] == pytest.approx(2.0)
    assert one["nodes"]["motor"]["p95_pu"] == pytest.approx(EARTH[18] + 0.65 * (EARTH[19] - EARTH[18]))
    assert one["arresters"]["guard"] == pytest.approx({"median": 9.5, "p95": 18.65, "max": 19.0})
    assert find_upper(np.arange(1.0, 21.0)) == pytest.approx(19.65)


def test_withstand_is_met_by_the_worse_of_both_voltages():
    """40 kV of class 7.2 kV; to earth 15.8 kV, between phases 13.2 kV."""
    row, = judge_openings(CASE, measure())
    assert row["value"] == pytest.approx(100.0 * find_upper(CREST * EARTH) / 40e3) and row["level"] == "pass"
    assert "5 of 20 openings of gear" in row["basis"] and "statistical" in row["basis"]


def test_openings_that_were_cut_short_pass_nothing():
    row, = judge_openings(CASE, measure(replace(MADE, cut=np.arange(20) > 17)))
    assert row["level"] == "not assessed" and "2 openings of gear" in row["reason"]
    high = replace(MADE, cut=np.arange(20) > 17, phase_earth=4.0 * MADE.phase_earth)
    assert judge_openings(CASE, measure(high))[0]["level"] == "fail"


def test_gap_whose_surge_is_not_resolved_has_no_range():
    made = replace(MADE, reason="too fast", moments=np.empty(0))
    ranges = measure(made)
    assert ranges["gear"]["reignitions"] is None and ranges["gear"]["nodes"] == {}
    assert judge_openings(CASE, ranges) == [] and "gear" in find_unresolved(ranges)
    assert find_unresolved(measure()) is None
