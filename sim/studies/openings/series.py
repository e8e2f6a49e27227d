"""Openings at moments spread over one period: where the contacts part decides whether a gap re-ignites, and how often.

The moments are drawn layer by layer: one anywhere within each of as many equal parts of the period, so that chance
leaves no part of it out.  Published studies open 50 or 100 times at random (Xue and Popov, IPST 2013, read
second-hand); twenty bound the median well and the 95 % value roughly.
"""

from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from typing import Any

import numpy as np

from sim.errors import SolveError
from sim.results.run import OpeningPeaks, RunResult
from sim.studies.closings.shots import count_cores, shield_children
from sim.studies.openings.opening import STRIKES_MOST, Breaking, Outcome, explain_refused

COUNT, SEED = 20, 1


def open_all(result: RunResult, workers: int | None = None) -> list[OpeningPeaks]:
    """Open every breaker whose gap has its strength given, and that a run ordered to open, at many moments.

    Parameters
    ----------
    result : RunResult
        A run to its end, with the states it held as its breakers were ordered to open.
    workers : int, optional
        Processes, one for each core by default; the results do not depend on it.

    Returns
    -------
    openings : list of OpeningPeaks
        Without numbers, and with the reason, where the gap's surge cannot be resolved.

    Notes
    -----
    Worker processes import the main module afresh: a script that calls this keeps its own work under
    ``if __name__ == "__main__":``.

    Checked by
    ----------
    tests/studies/openings/test_series.py
    """
    return [open_one(result.case, breaker, held, workers) for breaker, held in result.held.items()]


def open_one(case: Any, breaker: str, held: Any, workers: int | None = None, count: int = COUNT,
             most: int = STRIKES_MOST) -> OpeningPeaks:
    """Openings of one breaker, each followed up to `most` re-ignitions."""
    breaking = Breaking(case, breaker)
    surge, moments = breaking.network.surges[breaker], draw_moments(held.t, breaking.period, count)
    empty = OpeningPeaks(breaker, SEED, surge.hz, tuple(breaking.names), tuple(breaking.arresters), np.empty(0),
                         np.empty((0, len(breaking.names))), np.empty((0, len(breaking.names))), np.empty(0, np.int64),
                         np.empty((0, len(breaking.arresters))), np.empty(0, bool), surge.reason)
    if surge.reason:
        return empty
    try:
        starts = list(breaking.walk(held, moments))
        outcomes = open_apart(case, breaker, starts, held.pole_g, most, breaking,
                              workers or count_cores())
    except SolveError as error:
        return OpeningPeaks(**vars(empty) | {"reason": explain_refused(error)})
    peaks = np.array([one.peaks for one in outcomes])
    return OpeningPeaks(breaker, SEED, surge.hz, empty.nodes, empty.arresters, np.array(moments), peaks[:, :, 0],
                        peaks[:, :, 1], np.array([one.reignitions for one in outcomes]),
                        np.array([one.energy for one in outcomes]).reshape(count, -1),
                        np.array([one.cut for one in outcomes]))


def draw_moments(begin: float, period: float, count: int, seed: int = SEED) -> list[float]:
    """Moments within a period from `begin`, one in each of `count` equal parts. [s]"""
    chance = np.random.default_rng(np.random.SeedSequence(seed)).random(count)
    return [begin + period * (k + float(share)) / count for k, share in enumerate(chance)]


def open_apart(case: Any, breaker: str, starts: list, pole_g: np.ndarray, most: int, here: Breaking,
               workers: int) -> list[Outcome]:
    """Openings here or in several processes, in the order of their moments."""
    if workers == 1:
        return [here.open(t, state, pole_g, most) for t, state in starts]
    pool = ProcessPoolExecutor(min(workers, len(starts)), get_context("spawn"), prepare_worker, (case, breaker))
    try:
        with shield_children():
            futures = [pool.submit(open_here, t, state, pole_g, most) for t, state in starts]
        return [future.result() for future in futures]
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


BREAKING: list[Breaking] = []       # of this worker


def prepare_worker(case: Any, breaker: str) -> None:
    """Build the network and engine of this worker once."""
    BREAKING[:] = [Breaking(case, breaker)]


def open_here(t: float, state: Any, pole_g: np.ndarray, most: int) -> Outcome:
    """One opening in this worker."""
    breaking, = BREAKING
    return breaking.open(t, state, pole_g, most)
