"""What the tables of the case file declare: their keys, the tables within, the part of a value in the data grade."""

import re
from collections.abc import Sequence
from typing import Any, get_args, get_origin

from pydantic.fields import FieldInfo

from sim.components.fields import DATA, PROVENANCE, Table

NUMBER = re.compile(r"\[\d+\]$")


def find_key(name: str, field: FieldInfo) -> str:
    """The key of the case file that a field is read from."""
    return field.alias or name


def list_keys(table: type[Table]) -> list[str]:
    """All keys of a table as the case file writes them, name first, grades and sources last."""
    keys = [find_key(name, field) for name, field in table.model_fields.items()]
    return sorted(keys, key=lambda key: -1 if key == "name" else key in PROVENANCE)


def find_inner(annotation: Any) -> type[Table] | None:
    """The table that a field holds: one, a list of them, either perhaps absent; None when it holds something else."""
    if isinstance(annotation, type) and get_origin(annotation) is None:
        return annotation if issubclass(annotation, Table) else None
    if get_origin(annotation) is dict:
        return None
    return next((inner for part in get_args(annotation) if (inner := find_inner(part))), None)


def find_tables(table: type[Table]) -> dict[str, type[Table]]:
    """Tables within a table, by key; those of a list stand for one."""
    found = {find_key(name, field): find_inner(field.annotation) for name, field in table.model_fields.items()}
    return {key: inner for key, inner in found.items() if inner}


def find_lists(table: type[Table]) -> list[str]:
    """Keys of the lists of tables within a table."""
    kinds = {find_key(name, field): field.annotation for name, field in table.model_fields.items()}
    return [key for key in find_tables(table)
            if list in (get_origin(kinds[key]), *(get_origin(part) for part in get_args(kinds[key])))]


def find_field(table: type[Table], location: tuple) -> FieldInfo | None:
    """Field at a location within a table; None when there is no such key."""
    fields = {find_key(name, field): field for name, field in table.model_fields.items()}
    if len(location) == 1 or location[0] in ("grades", "sources"):
        return fields.get(location[0])
    inner = find_tables(table).get(location[0])
    return find_field(inner, location[1:]) if inner else None


def find_role(table: type[Table], path: Sequence[str]) -> str | None:
    """Part in the data grade of the value at a path within a table, a number after each list of tables.

    None where no such value is declared.
    """
    keys = tuple(NUMBER.sub("", key) for key in path)
    for key in keys[:-1]:
        inner = find_tables(table).get(key)
        if inner is None:
            return None
        table = inner
    field = find_field(table, keys[-1:])
    extra = field.json_schema_extra if field is not None else None
    return None if field is None else str(extra.get("role", DATA)) if isinstance(extra, dict) else DATA
