"""Many closings at random: drawn, shot one by one or by several processes, gathered.

The work goes out in small pieces, so that a bar moves, an interruption keeps nearly everything and earlier closings
of the same case are not repeated.  Worker processes start afresh and build their network once.
"""

import os
import signal
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import numpy as np

from sim.errors import StepoutError, StoreError
from sim.measures.summary import find_version
from sim.results.run import ClosingPeaks
from sim.store.read import open_run
from sim.studies.closings.closing import Situation
from sim.studies.closings.draws import draw_closing

PIECE = 4               # closings that a worker takes at a time: about a second
ALONE = 12 * PIECE      # fewer than so many are done nearly as soon as other processes have started

Gather = Callable[[list[int], np.ndarray], None]


def close_at_random(case: Any, count: int, workers: int | None = None,
                    progress: Callable[[float], None] | None = None,
                    earlier: ClosingPeaks | None = None) -> ClosingPeaks:
    """Close the breaker of the case's table of random closings so many times.

    Parameters
    ----------
    case : CheckedCase
    count : int
        Closings, 1 or more; the first so many of the seed's series.
    workers : int, optional
        Processes, one for each core by default; the results do not depend on it.
    progress : callable, optional
        Called with the share of the closings done, 0 to 1.
    earlier : ClosingPeaks, optional
        Of the same case; closings found there are not repeated.

    Returns
    -------
    peaks : ClosingPeaks

    Raises
    ------
    CaseError
        When the case has no such table, or its breaker is closed or dead at the start.
    SolveError
        When a closing could not be carried through.  It, a StepoutError after the loss of a worker, and a
        KeyboardInterrupt carry the closings done until then: `closings`.

    Notes
    -----
    Worker processes import the main module afresh: a script that calls this keeps its own work under
    ``if __name__ == "__main__":``.

    Checked by
    ----------
    tests/studies/closings/test_shots.py
    """
    situation = Situation(case)
    done = adopt(earlier, count, situation.names)
    missing = [number for number in range(count) if number not in done]

    def gather(numbers: list[int], peaks: np.ndarray) -> None:
        done.update(zip(numbers, peaks))
        if progress:
            progress(len(done) / count)
    workers = workers or count_cores()
    try:
        if workers == 1 or len(missing) < ALONE:
            shoot_here(situation, missing, gather)
        else:
            shoot_apart(case, missing, min(workers, -(-len(missing) // PIECE)), gather)
    except (StepoutError, KeyboardInterrupt) as stop:
        vars(stop).update(closings=collect(situation, count, done))
        raise
    return collect(situation, count, done)


def count_cores() -> int:
    """Cores that this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def find_earlier(path: str | Path | None, case: Any) -> ClosingPeaks | None:
    """Closings that a run file holds of the very same case, by this version; None without such a file."""
    try:
        run = None if path is None else open_run(path)
    except StoreError:
        return None
    if run is None or (run.attrs["case_sha256"], run.attrs["stepout_version"]) != (case.sha256, find_version()):
        return None
    return run.closings


def adopt(earlier: ClosingPeaks | None, count: int, names: list[str]) -> dict[int, np.ndarray]:
    """Peaks of earlier closings by number, in the order of `names`; none from a network with other nodes."""
    if earlier is None or set(earlier.nodes) != set(names):
        return {}
    order = [earlier.nodes.index(name) for name in names]
    peaks = np.stack([earlier.phase_earth, earlier.phase_phase], axis=2)[:, order]
    return {number: peaks[k] for k, number in enumerate(earlier.numbers.tolist()) if number < count}


def collect(situation: Situation, count: int, done: dict[int, np.ndarray]) -> ClosingPeaks:
    """The closings done, in their order, with what chance decided of each."""
    shots, numbers = situation.case.shots, sorted(done)
    drawn = [draw_closing(situation.case, number) for number in numbers]
    orders = np.array([closing.order for closing in drawn])
    moments = np.array([situation.find_moments(closing) for closing in drawn]).reshape(-1, 3)
    peaks = np.array([done[number] for number in numbers]).reshape(-1, len(situation.names), 2)
    return ClosingPeaks(
        breaker=shots.breaker, seed=shots.seed, count=count, nodes=tuple(situation.names),
        cables=tuple(shots.trapped_cables), numbers=np.array(numbers, dtype=np.int64),
        orders=orders, delays=moments - orders[:, None],
        charges=np.array([closing.charges for closing in drawn]).reshape(len(drawn), len(shots.trapped_cables), 3),
        phase_earth=peaks[:, :, 0], phase_phase=peaks[:, :, 1])


def shoot_here(situation: Situation, numbers: list[int], gather: Gather) -> None:
    """Closings in this process."""
    for number in numbers:
        gather([number], situation.shoot(draw_closing(situation.case, number))[None])


def shoot_apart(case: Any, numbers: list[int], workers: int, gather: Gather) -> None:
    """Closings in several processes; pieces under way when it stops are waited for and kept."""
    pieces = [numbers[k:k + PIECE] for k in range(0, len(numbers), PIECE)]
    pool = ProcessPoolExecutor(workers, get_context("spawn"), prepare_worker, (case,))
    futures: dict[Future, list[int]] = {}
    try:
        with shield_children():
            futures = {pool.submit(shoot_piece, piece): piece for piece in pieces}
        for future in as_completed(list(futures)):
            gather(futures[future], future.result())
            del futures[future]
    except BrokenProcessPool:
        raise StepoutError("a worker process was lost while it closed at random",
                           "Check the memory that is free, or run with --workers 1.") from None
    finally:
        pool.shutdown(wait=True, cancel_futures=True)
        for future, piece in futures.items():
            if future.done() and not future.cancelled() and future.exception() is None:
                gather(piece, future.result())


@contextmanager
def shield_children() -> Iterator[None]:
    """Processes started within leave Ctrl-C to this one."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


SITUATION: list[Situation] = []     # of this worker


def prepare_worker(case: Any) -> None:
    """Build the network and engine of this worker once."""
    SITUATION[:] = [Situation(case)]


def shoot_piece(numbers: list[int]) -> np.ndarray:
    """Peaks of some closings, shape (m, N, 2). [V]"""
    situation, = SITUATION
    return np.array([situation.shoot(draw_closing(situation.case, number)) for number in numbers])
