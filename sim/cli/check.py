"""`stepout check`: validate a case and show every value in force with its origin."""

from collections import Counter
from pathlib import Path
from typing import Any

import click

from sim.cli.output import emit_json, json_option, set_option
from sim.report.survey import write_survey
from sim.report.tables import GAP, WIDTH, align, fill, list_points, write_value

ORIGINS = ("given", "default", "derived")


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
    else:
        click.echo(write_check(case, found))


def describe(case: Any) -> dict[str, Any]:
    """The JSON of a check."""
    return {"case": case.name, "case_sha256": case.sha256, "title": case.title,
            "overrides": list(case.overrides), "used": case.used, "warnings": case.warnings,
            "suspicions": list(case.suspicions)}


def write_check(case: Any, found: dict[str, dict]) -> str:
    """The data book of a case and its survey; the last line says that it is valid."""
    groups: dict[str, list[tuple[str, dict]]] = {}
    for path, entry in case.used.items():
        owner, _, key = path.partition(".")
        groups.setdefault(owner, []).append((key or owner, entry))
    blocks = [[owner, *write_entries(entries)] for owner, entries in groups.items()]
    blocks += [*write_survey(found), list_points("Warnings", case.warnings), [conclude(case)]]
    return "\n\n".join("\n".join(block) for block in [[case.title], *blocks] if block)


def write_entries(entries: list[tuple[str, dict]]) -> list[str]:
    """Lines of the values of one component."""
    lines = align([], [write_cells(key, entry) for key, entry in entries], left=4, longest=WIDTH)
    column = max(len(line) for line in lines) + len(GAP)
    return [part for line, (_, entry) in zip(lines, entries)
            for part in fill(write_basis(entry), " " * column, line.ljust(column)) or [line]]


def write_cells(key: str, entry: dict[str, Any]) -> list[str]:
    """Cells of one value."""
    value = "none" if entry["value"] is None else f"{write_value(entry['value'])} {entry['unit']}"
    return [key, value.rstrip(), entry["origin"], entry["grade"] or "."]


def write_basis(entry: dict[str, Any]) -> str:
    """Where a value comes from; empty for one of the case file."""
    return "" if entry["basis"] == "case file" else entry["basis"]


def conclude(case: Any) -> str:
    """The check in one sentence."""
    counts = Counter(entry["origin"] for entry in case.used.values())
    parts = ", ".join(f"{counts[origin]} {origin}" for origin in ORIGINS)
    warnings = "1 warning" if len(case.warnings) == 1 else f"{len(case.warnings)} warnings"
    return f"{case.name}: valid; {len(case.used)} values ({parts}), {warnings}"
