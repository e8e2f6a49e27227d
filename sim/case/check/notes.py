"""Checks of grades and sources of single values: each names a value that its table has and the case gives."""

from collections.abc import Iterator

from sim.case.book.provenance import BY_VALUE, walk_tables
from sim.case.read.messages import ask
from sim.case.read.spellings import find_declared
from sim.case.read.validation import Parts
from sim.components.declared import find_key, find_tables, list_keys
from sim.components.fields import PROVENANCE, Graded, Table


def check_notes(parts: Parts) -> Iterator[str]:
    """Mistakes of grades and sources of single values: each names a key of its table."""
    for path, table, name, key in list_notes(parts):
        known = [own for own in list_keys(type(table))
                 if own not in (*PROVENANCE, *find_tables(type(table)))]
        if find_declared(type(table), key) not in known:
            yield f"{path}.{name}.{key}: the table has no such value. {ask(key, known, 'keys')}"


def warn_notes(parts: Parts) -> Iterator[str]:
    """Warnings about grades and sources of values that are not given."""
    for path, table, name, key in list_notes(parts):
        written = {find_key(own, type(table).model_fields[own]) for own in table.model_fields_set}
        if find_declared(type(table), key) not in written:
            yield f"{path}.{name}.{key}: {key} is not given, its {name.removesuffix('s')} is left out"


def list_notes(parts: Parts) -> Iterator[tuple[str, Table, str, str]]:
    """(path, table, "grades" or "sources", key) of every grade and source of a single value."""
    for path, table in walk_tables(parts):
        if isinstance(table, Graded):
            yield from ((path, table, name, key) for name in BY_VALUE for key in getattr(table, name) or {})
