"""One run of a case: simulate, measure, judge."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

from sim.case import parse_case
from sim.engines.run.timeline import simulate
from sim.errors import SolveError
from sim.measures import summarise
from sim.results.run import RunResult
from sim.store.read import open_run
from sim.studies.openings.series import open_all


def run(case: Any, engine: str | None = None,
        progress: Callable[[float], None] | None = None) -> tuple[RunResult, dict]:
    """Simulate a case and judge what came of it; a breaker whose gap may re-ignite opens at many moments besides.

    Parameters
    ----------
    case : CheckedCase
    engine : str, optional
        "auto", "envelope" or "waveform"; the case's own choice by default.
    progress : callable, optional
        Called with the share of the run that is done, 0 to 1.

    Returns
    -------
    result : RunResult
    summary : dict

    Raises
    ------
    SolveError
        When the solution could not be carried on.  It and a KeyboardInterrupt carry what was computed until
        then: `partial`, a RunResult with a failure, and `summary`; both are None when nothing was.

    Checked by
    ----------
    tests/cli/test_run.py
    """
    try:
        result = simulate(case, engine=engine, progress=progress)
    except (SolveError, KeyboardInterrupt) as stop:
        partial = getattr(stop, "partial", None)
        vars(stop).update(partial=partial, summary=None if partial is None else summarise(partial))
        raise
    result.openings = open_all(result)
    return result, summarise(result)


def repeat(path: str | Path, progress: Callable[[float], None] | None = None) -> tuple[RunResult, dict]:
    """Run again what a run file holds, from nothing but the file: its case, its overrides and its engine.

    Raises
    ------
    StoreError
        When the file cannot be read.
    CaseError
        When this version no longer accepts the stored case.
    SolveError
    """
    stored = open_run(path)
    case = parse_case(stored.case_text, stored.overrides, stored.name)
    engine = stored.settings.get("engine")
    return run(case, None if engine is None else str(engine), progress)
