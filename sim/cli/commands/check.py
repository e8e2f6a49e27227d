"""`stepout check`: validate a case and show every value in force with its origin."""

from pathlib import Path
from typing import Any

import click

from sim.cli.output import emit_json, json_option, set_option


@click.command("check")
@click.argument("case_file", metavar="CASE", type=click.Path(path_type=Path))
@json_option
@set_option
@click.option("--strict", is_flag=True, help="Refuse a case with values that look like a slip of unit or base.")
@click.option("--plots", type=click.Path(path_type=Path), metavar="DIR",
              help="Draw every motor and every cable fitted to its construction into this directory.")
def command(case_file: Path, as_json: bool, overrides: tuple[str, ...], strict: bool, plots: Path | None) -> None:
    """Validate CASE without simulating it, and show every value in force.

    Each value is shown with its origin (given, default or derived), its grade (A measured, B guaranteed,
    C typical, D assumed) and, unless the case file gives it, where it comes from.  Below them stand the
    quantities that follow for the network: charging, resonances, no-load voltages, start against fault level.
    """
    from sim.case import load_case

    case = load_case(case_file, overrides, strict)
    from sim.studies.survey.study import survey

    found = survey(case)
    if plots is not None:
        from sim.cli.drawing.check import draw_check, find_fits

        draw_check(case, plots, find_fits(case))
    if as_json:
        emit_json(describe(case) | {"derived": found})
        return
    from sim.report.check import write_check

    click.echo(write_check(case, found))


def describe(case: Any) -> dict[str, Any]:
    """The JSON of a check."""
    return {"case": case.name, "case_sha256": case.sha256, "title": case.title,
            "overrides": list(case.overrides), "used": case.used, "warnings": case.warnings,
            "suspicions": list(case.suspicions)}
