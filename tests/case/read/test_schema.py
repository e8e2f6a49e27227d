"""The exported JSON Schema: draft 2020-12, complete, and of one mind with the checks of the case layer.

Keywords and their meaning: JSON Schema Core and Validation, draft 2020-12 (json-schema.org).
"""

import json
import re
import tomllib
from pathlib import Path

import pytest

from sim.case import case_schema
from sim.components import KINDS, SINGLE
from sim.units import find_symbol

from ..sample import make, make_driven, make_switched

CASES = sorted((Path(__file__).parents[3] / "cases").glob("*.toml"))
SCHEMA = case_schema()
NUMBERS = {"minimum", "maximum", "exclusiveMinimum", "exclusiveMaximum", "multipleOf"}
KEYWORDS = NUMBERS | {"$schema", "$defs", "$ref", "title", "description", "default", "type", "properties",
                      "additionalProperties", "required", "items", "enum", "pattern", "maxLength", "minItems",
                      "maxItems", "allOf", "oneOf"}
ANNOTATIONS = {"unit", "basis", "stands_for"}     # unknown keywords are annotations: Core, section 6.5
TYPES = {"object": dict, "array": list, "string": str, "boolean": bool}


def walk(schema):
    """Every schema within a schema."""
    yield schema
    for key in ("properties", "$defs"):
        for inner in schema.get(key, {}).values():
            yield from walk(inner)
    for key in ("allOf", "oneOf"):
        for inner in schema.get(key, []):
            yield from walk(inner)
    if "items" in schema:
        yield from walk(schema["items"])


def list_properties(schema):
    return [(key, entry) for inner in walk(schema) for key, entry in inner.get("properties", {}).items()]


def is_type(value, name):
    if name in ("number", "integer"):
        return isinstance(value, (int, float) if name == "number" else int) and not isinstance(value, bool)
    return isinstance(value, TYPES[name])


def find_violations(value, schema, root, path="$"):
    """Violations of the keywords the export uses, by their definition in the standard."""
    if "$ref" in schema:
        yield from find_violations(value, root["$defs"][schema["$ref"].removeprefix("#/$defs/")], root, path)
    if "type" in schema and not is_type(value, schema["type"]):
        yield f"{path}: type"
        return
    tests = {"enum": lambda b: value in b, "pattern": lambda b: re.search(b, value),
             "maxLength": lambda b: len(value) <= b,
             "minItems": lambda b: len(value) >= b, "maxItems": lambda b: len(value) <= b,
             "minimum": lambda b: value >= b, "maximum": lambda b: value <= b,
             "exclusiveMinimum": lambda b: value > b,
             "exclusiveMaximum": lambda b: value < b, "multipleOf": lambda b: value % b == 0}
    yield from (f"{path}: {key}" for key, holds in tests.items() if key in schema and not holds(schema[key]))
    yield from (f"{path}: required {key}" for key in schema.get("required", []) if key not in value)
    for inner in schema.get("allOf", []):
        yield from find_violations(value, inner, root, path)
    if "oneOf" in schema:
        holding = [inner for inner in schema["oneOf"] if not list(find_violations(value, inner, root, path))]
        yield from (f"{path}: oneOf {inner['required'][0]}" for inner in schema["oneOf"][:1] if len(holding) != 1)
    for key, inner in (value.items() if isinstance(value, dict) else ()):
        if key in schema.get("properties", {}):
            yield from find_violations(inner, schema["properties"][key], root, f"{path}.{key}")
        elif schema.get("additionalProperties") is False:
            yield f"{path}: additionalProperties {key}"
    for number, inner in enumerate(value if isinstance(value, list) else ()):
        yield from find_violations(inner, schema.get("items", {}), root, f"{path}[{number}]")


def test_dialect_and_keywords():
    assert SCHEMA["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert {key for inner in walk(SCHEMA) for key in inner} <= KEYWORDS | ANNOTATIONS
    json.dumps(SCHEMA, allow_nan=False)


def test_keywords_have_the_types_the_standard_wants():
    for inner in walk(SCHEMA):
        assert inner.get("type", "object") in {*TYPES, "number", "integer"}
        assert all(isinstance(inner[key], (int, float)) for key in NUMBERS & set(inner))
        assert inner.get("multipleOf", 1) > 0 and inner.get("maxLength", 0) >= 0
        assert len(set(inner.get("required", []))) == len(inner.get("required", []))
        re.compile(inner.get("pattern", ""))
        assert inner.get("$ref", "#/$defs/Cable").removeprefix("#/$defs/") in SCHEMA["$defs"]


def test_every_table_of_the_case_file_is_there():
    assert set(SCHEMA["properties"]) == {"title", *SINGLE, *KINDS}
    assert all(inner["additionalProperties"] is False for inner in walk(SCHEMA) if "properties" in inner)


def test_every_property_is_described():
    for key, entry in list_properties(SCHEMA):
        assert entry.get("description") or "$ref" in entry or "$ref" in entry.get("items", {}), key
        assert entry.get("unit", "") == find_symbol(key), key


def test_defaults_hold_the_schema_and_tell_their_basis():
    for key, entry in list_properties(SCHEMA):
        if "default" in entry and key != "title":
            assert not list(find_violations(entry["default"], entry, SCHEMA)), key
            assert entry["basis"], key


@pytest.mark.parametrize("data", [make(), make_driven(), make_switched()], ids=["grid", "drive", "switching"])
def test_sample_holds_the_schema(data):
    assert not list(find_violations(data, SCHEMA, SCHEMA))


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_shipped_cases_hold_the_schema(path):
    assert not list(find_violations(tomllib.loads(path.read_text()), SCHEMA, SCHEMA))


def test_wrong_case_breaks_the_schema():
    data = make(machines=[])
    data["cable"][0] |= {"length_km": 0, "ampacity_a": True, "from": "a b"}
    del data["cable"][0]["to"]
    data["machine"][0]["motor"]["poles"] = 3
    assert set(find_violations(data, SCHEMA, SCHEMA)) == {
        "$: additionalProperties machines", "$.cable[0]: required to", "$.cable[0].length_km: "
        "exclusiveMinimum",
        "$.cable[0].ampacity_a: type", "$.cable[0].from: pattern", "$.machine[0].motor.poles: multipleOf"}


@pytest.mark.parametrize("values, sound", [
    ({"length_km": 28.0}, True), ({"length_nmi": 15.0}, True),
    ({"length_km": 28.0, "capacitance_nf_per_km": 200.0}, True),
    ({"length_m": 6e5}, False), ({"length_mm": "x"}, False), ({"length_hp": 1.0}, False)])
def test_other_units_are_properties_with_their_own_range(values, sound):
    data = make()
    cable = data["cable"][0]
    del cable["length_km"], cable["capacitance_uf_per_km"]
    cable |= {"capacitance_uf_per_km": 0.2} if "capacitance_nf_per_km" not in values else {}
    cable |= values
    assert (not list(find_violations(data, SCHEMA, SCHEMA))) == sound


def test_required_value_is_there_in_one_unit():
    data = make()
    motor = data["machine"][0]["motor"]
    motor["rated_hp"] = 2682.0
    assert list(find_violations(data, SCHEMA, SCHEMA)) == ["$.machine[0].motor: oneOf rated_kw"]
    del motor["rated_kw"]
    assert not list(find_violations(data, SCHEMA, SCHEMA))
    del motor["rated_hp"]
    assert list(find_violations(data, SCHEMA, SCHEMA)) == ["$.machine[0].motor: oneOf rated_kw"]
