"""Cost of closings at random: one by itself, and a whole series by two processes, extrapolated from a few."""

import time
from pathlib import Path
from resource import RUSAGE_CHILDREN, RUSAGE_SELF, getrusage

import numpy as np

import sim.studies.closings.shots as shots
from sim.case import load_case
from sim.studies.closings.closing import Situation
from sim.studies.closings.draws import draw_closing

CASE = Path(__file__).parents[2] / "cases" / "quillfen_energise.toml"
SERIES, FEW, MORE = 1000, 8, 48     # closings of the series; the two shorter ones it is extrapolated from


def list_rows():
    """Rows of the table: name, value, remark."""
    case = load_case(CASE)
    each, steps = closing_time(case)
    wall, work = extrapolate(case)
    return [("closing at random, quillfen_energise", f"{1e3 * each:.0f} ms",
             f"{steps:.0f} steps of 2 us, {1e6 * each / steps:.2f} us a step, processor time"),
            (f"{SERIES} of them, two processes", f"{wall:.0f} s",
             f"{work:.0f} s of processor time; extrapolated from {MORE - FEW}")]


def closing_time(case):
    """Processor time [s] and steps of a closing, once the first has filled the cache."""
    situation = Situation(case)
    situation.shoot(draw_closing(case, 0))
    steps, start = situation.engine.steps, time.process_time()
    for number in range(1, MORE - FEW + 1):
        situation.shoot(draw_closing(case, number))
    return (time.process_time() - start) / (MORE - FEW), (situation.engine.steps - steps) / (MORE - FEW)


def extrapolate(case):
    """Wall and processor time of the series, shape (2,): starting the processes once, then closing by closing. [s]"""
    few, more = (series_time(case, count) for count in (FEW, MORE))
    return few + (SERIES - FEW) * (more - few) / (MORE - FEW)


def series_time(case, count):
    """Wall and processor time of so many closings by two processes, shape (2,). [s]"""
    shots.ALONE = 0
    before = np.array([time.perf_counter(), processor_time()])
    shots.close_at_random(case, count, workers=2)
    return np.array([time.perf_counter(), processor_time()]) - before


def processor_time():
    """Of this process and of those it has waited for. [s]"""
    return sum(use.ru_utime + use.ru_stime for use in map(getrusage, (RUSAGE_SELF, RUSAGE_CHILDREN)))
