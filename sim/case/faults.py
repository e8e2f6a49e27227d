"""Sentences that tell what is wrong with a value: key path, what was given, what is allowed, what to do."""

import json
import operator
from collections.abc import Iterable
from difflib import get_close_matches
from typing import Any, get_args

from pydantic.fields import FieldInfo

from sim.components.fields import Table
from sim.units import find_symbol

SIGNS = {"gt": ">", "ge": ">=", "lt": "<", "le": "<="}
FINER = {"km": "m", "kV": "V", "kW": "W", "MVA": "kVA", "kVA": "VA", "mH": "uH", "uF": "nF", "kHz": "Hz",
         "mH/km": "uH/km", "uF/km": "nF/km", "ohm/km": "mohm/km", "ms": "us"}
SHOWN = 60      # longest value shown in a sentence [characters]
ONE_TABLE, MANY_TABLES = "[{}]", "[[{}]]"


def suggest(given: str, known: Iterable[str]) -> str | None:
    """The known word nearest to the given one, None when none is near."""
    by_lower = {word.lower(): word for word in known}
    near = get_close_matches(str(given).lower(), list(by_lower), n=1, cutoff=0.6)
    return by_lower[near[0]] if near else None


def ask(given: str, known: Iterable[str], what: str) -> str:
    """"Did you mean ...?" where a word is near, else the list of what is known."""
    known = list(known)
    near = suggest(given, known)
    if near:
        return f"Did you mean {near}?"
    return f"Known {what}: {', '.join(known)}." if known else f"There are no {what}."


def show(value: Any) -> str:
    """A value as the case file would write it, shortened."""
    try:
        text = json.dumps(value, ensure_ascii=False, default=str)
    except (ValueError, RecursionError):
        text = "a value too long to show"
    text = {"NaN": "nan", "Infinity": "inf", "-Infinity": "-inf"}.get(text, text)
    return text if len(text) <= SHOWN else text[:SHOWN - 4] + " ..."


def find_tables(table: type[Table]) -> dict[str, type[Table]]:
    """Tables within a table, by key."""
    return {name: field.annotation for name, field in table.model_fields.items()
            if isinstance(field.annotation, type) and issubclass(field.annotation, Table)}


def find_key(name: str, field: FieldInfo) -> str:
    """The key of the case file that a field is read from."""
    return field.alias or name


def list_keys(table: type[Table]) -> list[str]:
    """All keys of a table as the case file writes them."""
    return [find_key(name, field) for name, field in table.model_fields.items()]


def find_field(table: type[Table], location: tuple) -> FieldInfo | None:
    """Field at a location within a table; None when there is no such key."""
    for key in location[:-1]:
        table = find_tables(table).get(key)
        if table is None:
            return None
    fields = {find_key(name, field): field for name, field in table.model_fields.items()}
    return fields.get(location[-1])


def find_range(field: FieldInfo) -> dict[str, float]:
    """Bounds of a number, keyed gt, ge, lt and le."""
    return {name: getattr(part, name) for name in SIGNS for part in field.metadata if hasattr(part, name)}


def is_within(value: float, bounds: dict[str, float]) -> bool:
    """Whether a number keeps all bounds."""
    return all(getattr(operator, name)(value, bound) for name, bound in bounds.items())


def tell_range(bounds: dict[str, float]) -> str:
    """Bounds in words: "> 0 and <= 500"."""
    return " and ".join(f"{SIGNS[name]} {bound:g}" for name, bound in bounds.items())


def give(field: FieldInfo, key: str) -> str:
    """What to do about a field: "Give the length of the cable in km."."""
    unit = find_symbol(key)
    what = field.description or key
    head = f"Say {what}" if what.startswith("whether ") else f"Give the {what}"
    return f"{head} in {unit}." if unit else f"{head}."


def advise(value: Any, key: str, field: FieldInfo, bounds: dict[str, float]) -> str:
    """What to do about a number out of range: a likely slip of sign or unit, else what the key means."""
    if is_within(-value, bounds):
        return f"Did you mean {show(-value)}?"
    unit = find_symbol(key)
    if unit in FINER and abs(value) < 1e12 and is_within(value / 1e3, bounds):
        return f"If that is in {FINER[unit]}, write {value / 1e3:g}. {give(field, key)}"
    return give(field, key)


def tell_range_fault(error: dict, key: str, field: FieldInfo) -> str:
    value = error["input"]
    bounds = find_range(field) or {name: error["ctx"][name] for name in SIGNS if name in error["ctx"]}
    return f"must be {tell_range(bounds)}. {advise(value, key, field, bounds)}"


def tell_number_fault(error: dict, key: str, field: FieldInfo) -> str:
    if isinstance(error["input"], int) and not isinstance(error["input"], bool):
        return f"is too large a number. {give(field, key)}"
    kind = "whole number" if error["type"].startswith("int") else "number"
    bounds = tell_range(find_range(field))
    return f"must be a {kind}{f' {bounds}' if bounds else ''}. {give(field, key)}"


def tell_list_fault(error: dict, key: str, field: FieldInfo) -> str:
    return f"must be a list of numbers. {give(field, key)}"


def tell_choice_fault(error: dict, key: str, field: FieldInfo) -> str:
    choices = [choice for choice in get_args(field.annotation) if isinstance(choice, str)]
    choices = choices or [c for part in get_args(field.annotation) for c in get_args(part)]
    near = suggest(str(error["input"]), choices)
    return f"must be one of {', '.join(map(show, choices))}. " + (f"Did you mean {show(near)}?" if near else
                                                                  give(field, key))


def tell_name_fault(error: dict, key: str, field: FieldInfo) -> str:
    if key == "vector_group":
        return ("must be the letters of the first winding (D, Y, YN), of the second (d, y, yn) and a clock "
                "number 0 to 11. Write it like Dyn11.")
    return f"must start with a letter and hold letters, digits, _ and - only, 64 at most. {give(field, key)}"


def tell_table_fault(error: dict, key: str, field: FieldInfo) -> str:
    return f"must be a table. Write it as a table of its own; it is the {field.description}."


PHRASES = {
    **dict.fromkeys(("greater_than", "greater_than_equal", "less_than", "less_than_equal"), tell_range_fault),
    **dict.fromkeys(("float_type", "float_parsing", "int_type", "int_from_float"), tell_number_fault),
    "finite_number": lambda error, key, field: f"must be a finite number {tell_range(find_range(field))}. "
                                               f"{give(field, key)}",
    "multiple_of": lambda error, key, field: f"must be a multiple of {error['ctx']['multiple_of']:g}. "
                                             f"{give(field, key)}",
    "literal_error": tell_choice_fault,
    "list_type": tell_list_fault,
    "model_type": tell_table_fault,
    "model_attributes_type": tell_table_fault,
    "string_type": lambda error, key, field: f"must be text in quotes. {give(field, key)}",
    "bool_type": lambda error, key, field: f"must be true or false. {give(field, key)}",
    **dict.fromkeys(("string_pattern_mismatch", "string_too_long", "string_too_short"), tell_name_fault),
}


def tell_missing(table: type[Table], location: tuple, path: str) -> str:
    """Sentence for a required key that is not there."""
    key, field = location[-1], find_field(table, location)
    if key in find_tables(table):
        return f"{path}: missing. It is the {field.description}; add the table with its keys."
    unit, bounds = find_symbol(key), tell_range(find_range(field))
    value = f"a number{f' in {unit}' if unit else ''}" if bounds else "a value"
    return f"{path}: missing. Add {key} = {value}{f' {bounds}' if bounds else ''}, the {field.description}."


def tell_unknown(table: type[Table], location: tuple, path: str, value: Any) -> str:
    """Sentence for a key that is not known, with the nearest known one."""
    for key in location[:-1]:
        table = find_tables(table)[key]
    key = location[-1]
    owners = [name for name, inner in find_tables(table).items() if key in list_keys(inner)]
    if owners and suggest(key, list_keys(table)) is None:
        return f"{path} = {show(value)}: unknown key. It belongs to the table {owners[0]} within."
    return f"{path} = {show(value)}: unknown key. {ask(key, list_keys(table), 'keys')}"


def tell(error: dict, table: type[Table], path: str) -> str:
    """Sentence for one validation error of a table that stands at `path` in the case."""
    location = error["loc"]
    keys = tuple(part for part in location if isinstance(part, str))
    here = path
    for part in location:
        here += f"[{part + 1}]" if isinstance(part, int) else f".{part}"
    if error["type"] == "missing":
        return tell_missing(table, keys, here)
    if error["type"] == "extra_forbidden":
        return tell_unknown(table, keys, here, error["input"])
    phrase, field = PHRASES.get(error["type"]), find_field(table, keys)
    text = phrase(error, keys[-1], field) if phrase and field else f"{error['msg']}."
    return f"{here} = {show(error['input'])}: {text}"
