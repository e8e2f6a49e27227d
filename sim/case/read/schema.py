"""JSON Schema of the case file, for editors and for people who write cases by program."""

from typing import Any

from pydantic.json_schema import models_json_schema

from sim.case.read.spellings import list_spellings
from sim.components import KINDS, SINGLE
from sim.units import change_unit, find_symbol

DIALECT = "https://json-schema.org/draft/2020-12/schema"
BOUNDS = ("minimum", "maximum", "exclusiveMinimum", "exclusiveMaximum")


def case_schema() -> dict[str, Any]:
    """JSON Schema (draft 2020-12) of a case file.

    Returns
    -------
    schema : dict
        Every property carries its description, range and default, `unit` where it has one and `basis`
        where it has a default.  A property in another unit has `stands_for`, the key it is another spelling of.
    """
    tables = SINGLE | KINDS
    references, defined = models_json_schema([(table, "validation") for table in tables.values()])
    at = {key: references[table, "validation"] for key, table in tables.items()}
    properties = {key: at[key] if key in SINGLE else {"type": "array", "items": at[key]} for key in tables}
    title = {"type": "string", "description": "title of the case", "default": ""}
    schema = drop_null({
        "$schema": DIALECT, "title": "stepout case file", "type": "object", "additionalProperties": False,
        "required": ["study"], "properties": {"title": title, **properties}, "$defs": defined["$defs"]})
    return schema | {"$defs": {name: add_spellings(table) for name, table in schema["$defs"].items()}}


def add_spellings(table: dict[str, Any]) -> dict[str, Any]:
    """Schema of a table with all other units its keys may be written in; a required one is there in one unit."""
    spellings = {key: list_spellings(key) for key in table.get("properties", {})}
    others = {other: respell_property(entry, key, other) for key, entry in table.get("properties", {}).items()
              for other in spellings[key]}
    required = [key for key in table.get("required", []) if not spellings[key]]
    choices = [{"oneOf": [{"required": [name]} for name in (key, *spellings[key])]}
               for key in table.get("required", []) if spellings[key]]
    return table | {"properties": {**table.get("properties", {}), **others}, "required": required, "allOf": choices}


def respell_property(entry: dict[str, Any], key: str, other: str) -> dict[str, Any]:
    """A property under another unit, with its range converted and without its default."""
    kept = {word: change_unit(value, key, other) if word in BOUNDS else value
            for word, value in entry.items() if word not in ("default", "basis", "title")}
    if "items" in kept:
        kept["items"] = respell_property(kept["items"], key, other)
        return kept | {"unit": find_symbol(other), "stands_for": key}
    return kept | ({"unit": find_symbol(other), "stands_for": key} if "unit" in entry else {})


def drop_null(schema: Any) -> Any:
    """Schema without null, which TOML does not have: an optional value is a key that is left out."""
    if isinstance(schema, list):
        return [drop_null(item) for item in schema]
    if not isinstance(schema, dict):
        return schema
    kept = {key: drop_null(value) for key, value in schema.items() if (key, value) != ("default", None)}
    choices = [item for item in kept.get("anyOf", []) if item != {"type": "null"}]
    if len(choices) == 1:
        return choices[0] | {key: value for key, value in kept.items() if key != "anyOf"}
    return kept
