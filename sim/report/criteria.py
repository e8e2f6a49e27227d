"""The criteria of a run: a line each, worst first, and below them what they rest on."""

from math import inf
from typing import Any

from sim.measures.verdict.criteria import CRITERIA
from sim.report.tables import align, fill, write_number

LEVELS = ("fail", "marginal", "pass")
HEAD = ["level", "criterion", "where", "value", "limit", "margin", ""]


def list_judged(judged: list[dict]) -> list[str]:
    """A line per assessed criterion, then the basis of each; nothing when none was assessed."""
    rows = sorted((row for row in judged if row["level"] in LEVELS), key=rank)
    if not rows:
        return []
    groups: dict[str, list[dict]] = {}
    for row in rows:
        groups.setdefault(row["id"], []).append(row)
    numbers = {id: k for k, id in enumerate(groups, start=1)}
    notes = [line for id, group in groups.items()
             for line in fill(write_basis(group), "      ", f"  [{numbers[id]}] ")]
    table = align([HEAD], [write_row(row, numbers[row["id"]]) for row in rows], left=3)
    return ["Criteria, worst first", *table, *notes]


def rank(row: dict[str, Any]) -> tuple[int, float]:
    """Sort key: level, then what is left of the margin."""
    return LEVELS.index(row["level"]), inf if row["margin_pct"] is None else row["margin_pct"]


def write_row(row: dict[str, Any], number: int) -> list[str]:
    """Cells of one criterion."""
    known = CRITERIA.get(row["id"])
    limit = f"{known.sense if known else ''} {write_number(row['limit'], '.4g')}".strip()
    return [row["level"], name_criterion(row), row["where"], write_number(row["value"], ".4g"), limit,
            f"{write_number(row['margin_pct'], '.0f')} %", f"[{number}]"]


def write_basis(group: list[dict]) -> str:
    """Quantity, unit and basis of one criterion; what differs from place to place is told by place."""
    first, known = group[0], CRITERIA.get(group[0]["id"])
    common = known.basis if known else first["basis"]
    places: dict[str, list[str]] = {}
    for row in group:
        own = row["basis"].removeprefix(common).strip("; ")
        places.setdefault(own, []).append(row["where"])
    own = [f"{', '.join(wheres)}: {text}" for text, wheres in places.items() if text]
    return "; ".join([f"{first['quantity']} [{first['unit']}]", common, *own])


def list_unjudged(judged: list[dict]) -> list[str]:
    """What could not be judged and why, a text per criterion and reason."""
    groups: dict[tuple, list[str]] = {}
    for row in judged:
        if row["level"] not in LEVELS:
            reason = row.get("reason") or "no reason given"
            groups.setdefault((name_criterion(row), reason), []).append(row["where"])
    return [f"{name} ({', '.join(places)}): {reason}" for (name, reason), places in groups.items()]


def name_criterion(row: dict[str, Any]) -> str:
    """Name of a criterion in words."""
    return row["id"].replace("_", " ")
