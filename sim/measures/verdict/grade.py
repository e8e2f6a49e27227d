"""How good the data behind a verdict is: the worst grade on its path.

A measured, B guaranteed, C typical, D a default nobody chose.  The path is every component on the island of a machine
and, where the machine's drive has a front end, on the island that feeds it; values derived from others
included.  Left out are settings, which are decisions and not data, limits, and the small quantities that shape a
transient but do not decide whether a machine comes up to speed.
"""

from collections.abc import Iterable, Iterator
from typing import Any

from sim.case.book.databook import worst_grade
from sim.components.declared import find_role
from sim.components.fields import DATA, Table
from sim.components.kinds import ROWS
from sim.topology import find_supplying, list_members

GRADES = "ABCD"


def find_grade(case: Any) -> str | None:
    """Worst data grade on the path of the verdict; None when the case keeps no grades.

    Parameters
    ----------
    case : CheckedCase
        Its `used` gives {"grade", ...} per dotted path, flat or nested by component.

    Returns
    -------
    grade : str or None
    """
    tables = find_path(case)
    grades = [entry.get("grade") for path, entry in flatten(case.used)
              if path[0] in tables and counts(tables[path[0]], path[1:])]
    return worst_grade(*(grade for grade in grades if grade and grade in GRADES))


def flatten(used: dict, path: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], dict]]:
    """Yield (path, entry) of every graded value."""
    for key, value in used.items():
        here = (*path, *str(key).split("."))
        if isinstance(value, dict) and "grade" in value:
            yield here, value
        elif isinstance(value, dict):
            yield from flatten(value, here)


def find_path(case: Any) -> dict[str, list[type[Table]]]:
    """Components on an island with a machine, and on every island that feeds it through a front end.

    Returns
    -------
    tables : dict of list
        Name -> tables that may have declared it: a record can come from more than one.
    """
    members = list_members(case)
    nodes = find_supplying(members, [machine.node for machine in case.machines])
    return {member.name: [row.table for row in ROWS.values() if row.records == member.row.records]
            for member in members if member.row.is_graded and member.ends[0] in nodes}


def counts(tables: Iterable[type[Table]], path: tuple[str, ...]) -> bool:
    """Whether a value is data; what no table declares was derived from values graded on their own."""
    role = next((found for table in tables if path and (found := find_role(table, path))), DATA)
    return role == DATA
