"""A checked case as text: every value in force with its origin, and the survey of the network."""

from collections import Counter
from typing import Any

from sim.report.survey import write_survey
from sim.report.tables import GAP, WIDTH, align, fill, list_points, write_value

ORIGINS = ("given", "default", "derived")


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
