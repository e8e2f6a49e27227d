"""`stepout run`: simulate a case, judge it, print the verdict, store and draw where asked."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from sim.cli.commands.shots import check_shots, take_shots
from sim.cli.output import emit_json, json_option, set_option, show_progress, tell
from sim.errors import SolveError, StepoutError, StoreError

STRICT = 3
MOST_SHOTS = 1_000_000
LOST = ("does not start", "not assessed")


@click.command("run")
@click.argument("case_file", metavar="CASE", type=click.Path(path_type=Path))
@click.option("--out", type=click.Path(path_type=Path), metavar="RUN.h5", help="Store the run in this file.")
@click.option("--plots", type=click.Path(path_type=Path), metavar="DIR",
              help="Draw the figures into this directory.")
@json_option
@click.option("--strict", is_flag=True,
              help="Refuse a case with values that look like a slip of unit or base; exit with 3 unless the machines "
                   "start and no criterion fails.")
@click.option("--engine", type=click.Choice(["auto", "envelope", "waveform"]),
              help="Engine to use in place of the case's own choice.")
@click.option("--verify-step", is_flag=True,
              help="Run once more with half the step and a finer tolerance and tell what changes.")
@click.option("--shots", type=click.IntRange(1, MOST_SHOTS), metavar="N",
              help="Then close the breaker of the case's [shots] table N times at random.")
@click.option("--workers", type=click.IntRange(1), metavar="N",
              help="Processes that close at random; by default one for each core.")
@set_option
def command(case_file: Path, out: Path | None, plots: Path | None, as_json: bool, strict: bool, engine: str | None,
            verify_step: bool, shots: int | None, workers: int | None, overrides: tuple[str, ...]) -> None:
    """Simulate CASE, judge it and print the verdict.

    The last line of stdout is the verdict in one sentence.  RUN.h5 is replaced only by a run that reached its
    end; of a run that did not, the part computed is kept and marked incomplete.  Closings at random that RUN.h5
    holds of the same case are not repeated, so that an interrupted series goes on.
    """
    from sim.case import load_case

    case = load_case(case_file, overrides, strict)
    check_targets(out, plots)
    if shots:
        check_shots(case)
    result, summary = simulate(case, engine, out, as_json)
    summary, stop = take_shots(case, result, shots, workers, out) if shots else (summary, None)
    problems = [*attempt(store, out, result, summary), *attempt(draw, plots, result, summary)]
    if verify_step and stop is None:
        verify(case, engine, summary, as_json)
        problems += [] if problems else attempt(store, out, result, summary)
    show(case.title, summary, as_json)
    if stop or problems:
        raise stop or problems[0]
    if strict and has_failed(summary):
        click.get_current_context().exit(STRICT)


def check_targets(out: Path | None, plots: Path | None) -> None:
    """Make sure that results can be written, before anything is computed."""
    from sim.store.outputs import check_directory, check_file
    from sim.store.read import is_foreign

    if out is not None:
        check_file(out)
        if is_foreign(out):
            raise StoreError(f"{out}: there is a file that is no run; it is left alone",
                             "Give another name for the run file, or remove that file first.")
    if plots is not None:
        check_directory(plots)


def simulate(case: Any, engine: str | None, out: Path | None, as_json: bool) -> tuple[Any, dict]:
    """Run a case; the part computed before a failure or an interruption is kept."""
    from sim.studies import run as study

    try:
        with show_progress() as progress:
            return study.run(case, engine, progress)
    except (SolveError, KeyboardInterrupt) as stop:
        if getattr(stop, "partial", None) is not None:
            keep_part(out, stop.partial, stop.summary)
            if isinstance(stop, SolveError) and not as_json:
                show(case.title, stop.summary, as_json)
        raise


def verify(case: Any, engine: str | None, summary: dict, as_json: bool) -> None:
    """Run again with finer steps; the summary receives what changed.

    When that fails or is interrupted, the run itself stands: it is stored already, and its summary is printed.
    """
    from sim.studies.verify import verify_step

    try:
        with show_progress("verifying") as progress:
            summary["verify_step"] = verify_step(case, engine, summary, progress)
    except (StepoutError, KeyboardInterrupt) as stop:
        stop.summary = summary
        tell("The run itself reached its end; the run with finer steps did not.")
        if not as_json:
            show(case.title, summary, as_json)
        raise


def keep_part(out: Path | None, partial: Any, summary: dict) -> None:
    """Store what was computed, without touching a run that reached its end."""
    from sim.store.read import is_complete_run

    if out is None or not partial.stretches:
        return
    path = out.with_name(f"{out.stem}.incomplete{out.suffix}") if is_complete_run(out) else out
    try:
        store(path, partial, summary)
    except StoreError as error:
        tell(f"error: the part computed could not be kept: {error}")
        return
    end = partial.stretches[-1].t[-1:]
    tell(f"The part up to {end[0] if len(end) else 0.0:g} s is kept in {path}, marked incomplete.")


def store(path: Path, result: Any, summary: dict) -> None:
    """Write the run file."""
    from sim.store.write import write_run

    write_run(path, result, summary)


def draw(directory: Path, result: Any, summary: dict) -> None:
    """Draw the figures of the run."""
    from sim.cli.drawing.run import draw_figures
    from sim.store.stored import stored_from_result

    draw_figures([stored_from_result(result, summary)], directory)


def attempt(task: Callable[..., None], target: Path | None, *details: Any) -> list[StepoutError]:
    """Do a task if it has a target; the verdict is still worth printing when it fails."""
    try:
        if target is not None:
            task(target, *details)
    except StepoutError as error:
        return [error]
    return []


def show(title: str, summary: dict, as_json: bool) -> None:
    """Print the summary."""
    if as_json:
        emit_json(summary)
        return
    from sim.report.run import write_report

    click.echo(write_report(title, summary))


def has_failed(summary: dict) -> bool:
    """Whether a strict reader cannot accept the run: no start, no verdict, or a criterion failed."""
    return summary["verdict"] in LOST or any(row["level"] == "fail" for row in summary["criteria"])
