"""Where given values come from and how good they are: grades and sources, as a whole and value by value."""

from collections.abc import Iterator
from typing import NamedTuple

from sim.case.read.messages import show
from sim.case.read.spellings import find_declared
from sim.case.read.validation import Parts
from sim.components.declared import find_key, find_lists, find_tables
from sim.components.fields import PROVENANCE, Table

BY_VALUE = ("grades", "sources")


class Note(NamedTuple):
    """Grade of a given value, and where it was given: "case file, given as rated_hp = 3084: type test 2025"."""

    grade: str
    place: str


def list_inner(path: str, table: Table) -> Iterator[tuple[str, str, Table]]:
    """(key, path, table) of the tables within a table, those of a list numbered."""
    fields = {find_key(name, declared): name for name, declared in type(table).model_fields.items()}
    for key in find_tables(type(table)):
        value = getattr(table, fields[key])
        if key in find_lists(type(table)):
            yield from ((key, f"{path}.{key}[{k}]", inner) for k, inner in enumerate(value or [], start=1)
                        if inner is not None)
        elif value is not None:
            yield key, f"{path}.{key}", value


def walk_tables(parts: Parts) -> Iterator[tuple[str, Table]]:
    """(path, table) of every table of a case and those within."""
    waiting = [*parts.single.items(), *((item.path, item.table) for item in parts.items)]
    while waiting:
        path, table = waiting.pop(0)
        yield path, table
        waiting += [(below, inner) for _, below, inner in list_inner(path, table)]


def collect_notes(parts: Parts, overrides: set[str]) -> dict[str, Note]:
    """Notes of all tables and of all values given, by path.

    Parameters
    ----------
    parts : Parts
        Without mistakes.
    overrides : set of str
        Paths of overrides, as they were written.  An override is graded as its table; grade and source of the single
        value it replaces do not pass to it.
    """
    notes: dict[str, Note] = {}
    for name, table in parts.single.items():
        note_table(name, table, Note("C", ""), parts, overrides, notes)
    for item in parts.items:
        note_table(item.path, item.table, Note("C", ""), parts, overrides, notes)
    return notes


def note_table(path: str, table: Table, outer: Note, parts: Parts, overrides: set[str],
               notes: dict[str, Note]) -> None:
    """Note a table, its values and the tables within; `outer` holds grade and source of the table around it."""
    own = Note(getattr(table, "grade", None) or outer.grade, getattr(table, "source", None) or outer.place)
    notes[path] = Note(own.grade, place("case file", own.place))
    for name in table.model_fields_set:
        key = find_key(name, type(table).model_fields[name])
        if key not in find_tables(type(table)) and name not in PROVENANCE:
            notes[f"{path}.{key}"] = note_value(path, key, table, own, parts, overrides)
    for _, below, inner in list_inner(path, table):
        note_table(below, inner, own, parts, overrides, notes)


def note_value(path: str, key: str, table: Table, own: Note, parts: Parts, overrides: set[str]) -> Note:
    """Note of one value; one that replaces what the file gives has the grade of its table and no source."""
    said = parts.spellings.get(f"{path}.{key}")
    given = f", given as {said.key} = {show(said.value)}" if said else ""
    if {f"{path}.{key}", said.path if said else ""} & overrides:
        return Note(own.grade, f"override{given}")
    grades, sources = (find_by_value(table, name) for name in BY_VALUE)
    return Note(grades.get(key, own.grade), place(f"case file{given}", sources.get(key, own.place)))


def find_by_value(table: Table, name: str) -> dict[str, str]:
    """Grades or sources of single values, under the declared keys."""
    return {find_declared(type(table), key) or key: text for key, text in (getattr(table, name, None) or {}).items()}


def place(where: str, source: str) -> str:
    """Where a value was given, with its source if it has one."""
    return f"{where}: {source}" if source else where
