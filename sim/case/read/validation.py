"""Tables as read to validated components; what is sound of a wrong one is kept for later checks."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from pydantic import ValidationError
from pydantic_core import PydanticUndefined

from sim.case.read.messages import address, ask, show, suggest, tell
from sim.case.read.spellings import Respelt, Spelling
from sim.components import KINDS, OPTIONAL, SINGLE
from sim.components.declared import find_key, find_lists, find_tables
from sim.components.fields import Read, Table
from sim.topology import Member


@dataclass(frozen=True)
class Item(Member):
    """A component of the case file with the path it is addressed by; a value missing or wrong is None."""

    path: str


@dataclass(frozen=True)
class Parts:
    """A whole case before the checks across components."""

    title: str
    single: dict[str, Read]
    items: list[Item]
    mistakes: list[str] = field(default_factory=list)
    spellings: dict[str, Spelling] = field(default_factory=dict)

    def of(self, *kinds: str) -> list[Item]:
        """Items of some kinds, in the order of the file."""
        return [item for item in self.items if item.kind in kinds]


def validate(respelt: Respelt) -> Parts:
    """Validate every table on its own.

    Parameters
    ----------
    respelt : Respelt
        Tables as read, overrides written in, under the declared keys.

    Returns
    -------
    Parts
        With the mistakes found.
    """
    data, known = respelt.data, (*SINGLE, *KINDS, "title")
    mistakes = [tell_unknown_table(key, value) for key, value in data.items() if key not in known]
    title = data.get("title", "")
    if not isinstance(title, str):
        mistakes.append(f"title = {show(title)}: must be text in quotes. Give the title of the case.")
    parts = Parts(title if isinstance(title, str) else "", {}, [], [*mistakes, *respelt.mistakes], respelt.spellings)
    for name in SINGLE:
        if name in data or name not in OPTIONAL:
            parts.single[name] = validate_single(data, name, parts)
    for kind in KINDS:
        parts.items.extend(validate_kind(data, kind, parts))
    return parts


def tell_unknown_table(key: str, value: Any) -> str:
    """Mistake of a table that is not known."""
    known = [*SINGLE, *KINDS, "title"]
    near = suggest(key, known)
    if near in KINDS:
        return f"{key}: unknown table. Did you mean [[{near}]]?"
    if near in SINGLE:
        return f"{key}: unknown table. Did you mean [{near}]?"
    return f"{key} = {show(value)}: unknown at the top of a case. {ask(key, known, 'tables')}"


def validate_single(data: dict, name: str, parts: Parts) -> Table:
    """Validate a table that stands alone; an absent one is empty."""
    values = data.get(name, {})
    if not isinstance(values, dict):
        parts.mistakes.append(f"{name} = {show(values)}: must be one table. Write it as [{name}].")
        return salvage(SINGLE[name], {}, [])
    return validate_table(SINGLE[name], values, name, parts)


def validate_kind(data: dict, kind: str, parts: Parts) -> list[Item]:
    """Validate all tables of a kind."""
    items = data.get(kind, [])
    if not isinstance(items, list) or not all(isinstance(item, dict) for item in items):
        parts.mistakes.append(f"{kind} = {show(items)}: must be a list of tables. Write each as [[{kind}]].")
        items = [items] if isinstance(items, dict) else []
    paths = [address(kind, number, values) for number, values in enumerate(items, start=1)]
    return [Item(kind, validate_table(KINDS[kind], values, path, parts), path) for path, values in zip(paths, items)]


def validate_table(table: type[Table], values: dict, path: str, parts: Parts) -> Table:
    """Validate one table; a wrong one comes back with None for whatever is not sound."""
    try:
        return table.model_validate(values)
    except ValidationError as error:
        errors = error.errors(include_url=False)
    parts.mistakes.extend(tell(error, table, path, parts.spellings) for error in errors
                        if not is_explained(error, errors))
    return salvage(table, values, [error["loc"] for error in errors])


def is_explained(error: Mapping[str, Any], errors: Sequence[Mapping[str, Any]]) -> bool:
    """Whether a key is missing only because it is misspelt, which is told already."""
    unknown = [other["loc"][-1] for other in errors
               if other["type"] == "extra_forbidden" and other["loc"][:-1] == error["loc"][:-1]]
    return error["type"] == "missing" and any(suggest(key, [error["loc"][-1]]) for key in unknown)


def salvage(table: type[Table], values: dict, bad: list[tuple]) -> Table:
    """Table of the values without a mistake, None elsewhere; `model_fields_set` is what was written."""
    kept: dict[str, Any] = {}
    inner, lists = find_tables(table), find_lists(table)
    for name, declared in table.model_fields.items():
        key = find_key(name, declared)
        below = [location[1:] for location in bad if location[0] == key]
        if key in lists:
            kept[key] = salvage_list(inner[key], values.get(key, []), [location for location in below if location])
        elif key in inner:
            value = values.get(key)
            kept[key] = salvage(inner[key], value if isinstance(value, dict) else {},
                                 [location for location in below if location])
        elif below:
            kept[key] = None
        else:
            default = declared.get_default()
            kept[key] = values.get(key, None if default is PydanticUndefined else default)
    return table.model_construct(find_written(table, values), **kept)


def salvage_list(table: type[Table], values: Any, bad: list[tuple]) -> list[Table | None]:
    """Tables of a list, None for what is none."""
    return [salvage(table, value, [location[1:] for location in bad if location[0] == k and location[1:]])
            if isinstance(value, dict) else None
            for k, value in enumerate(values if isinstance(values, list) else [])]


def find_written(table: type[Table], values: dict) -> set[str]:
    """Fields that were written, be they misspelt or wrong."""
    keys = {find_key(name, declared): name for name, declared in table.model_fields.items()}
    meant = {key if key in keys else suggest(key, keys) for key in values}
    return {name for key, name in keys.items() if key in meant}
