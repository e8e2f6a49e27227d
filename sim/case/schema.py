"""JSON Schema of the case file, for editors and for people who write cases by program."""

from typing import Any

from pydantic.json_schema import models_json_schema

from sim.components import KINDS, SINGLE

DIALECT = "https://json-schema.org/draft/2020-12/schema"


def case_schema() -> dict[str, Any]:
    """JSON Schema (draft 2020-12) of a case file.

    Returns
    -------
    schema : dict
        Every property carries its description, range and default, `unit` where it has one and `basis`
        where it has a default.
    """
    tables = SINGLE | KINDS
    references, defined = models_json_schema([(table, "validation") for table in tables.values()])
    at = {key: references[table, "validation"] for key, table in tables.items()}
    properties = {key: at[key] if key in SINGLE else {"type": "array", "items": at[key]} for key in tables}
    title = {"type": "string", "description": "title of the case", "default": ""}
    return drop_null({
        "$schema": DIALECT, "title": "stepout case file", "type": "object", "additionalProperties": False,
        "required": ["study"], "properties": {"title": title, **properties}, "$defs": defined["$defs"]})


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
