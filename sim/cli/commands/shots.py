"""Closings at random after a run: `stepout run CASE --shots N`."""

from pathlib import Path
from typing import Any

from sim.cli.output import show_progress, tell
from sim.errors import StepoutError


def take_shots(case: Any, result: Any, count: int, workers: int | None,
               out: Path | None) -> tuple[dict, BaseException | None]:
    """Close at random, going on where the run file left off, and judge the run with what came of it.

    Returns
    -------
    summary : dict
        Of the run, with the closings done.
    stop : exception or None
        What kept the series from its end; the closings done until then are in the result.
    """
    from sim.measures import summarise
    from sim.studies.closings.shots import close_at_random, find_earlier

    stop = None
    earlier = find_earlier(out, case)
    if earlier is not None:
        tell(f"{out} holds {min(len(earlier.numbers), count)} of these closings: they are not repeated")
    try:
        with show_progress("closing at random") as progress:
            result.closings = close_at_random(case, count, workers, progress, earlier)
    except (StepoutError, KeyboardInterrupt) as caught:
        stop, result.closings = caught, getattr(caught, "closings", None)
        tell(f"{0 if result.closings is None else len(result.closings.numbers)} of {count} closings were done")
    return summarise(result), stop


def check_shots(case: Any) -> None:
    """Make sure that there is something to close, before anything is computed.

    Raises
    ------
    CaseError
    """
    from sim.studies.closings.closing import Situation

    Situation(case)
