"""Sentences that tell what is wrong with a value: key path, what was given, what is allowed, what to do."""

import json
import operator
from collections.abc import Iterable, Mapping
from difflib import get_close_matches
from functools import reduce
from itertools import takewhile
from operator import getitem
from types import MappingProxyType, SimpleNamespace
from typing import Annotated, Any, get_args, get_origin

from pydantic.fields import FieldInfo

from sim.components.declared import find_field, find_inner, find_tables, list_keys
from sim.components.fields import Table, given
from sim.units import change_unit, find_symbol, split_key

SIGNS = {"gt": ">", "ge": ">=", "lt": "<", "le": "<="}
# units that a number may have been typed in, by that of its key: suffixes of `sim.units`
SLIPS = {
    "km": ("m",), "m": ("mm", "km"), "mm": ("m",), "mm2": ("m2",), "kv": ("v",), "v": ("kv",), "a": ("ka",),
    "kw": ("w", "mw"), "mw": ("kw",), "hp": ("w",), "mva": ("kva", "va"), "kva": ("va", "mva"),
    "mh": ("uh", "h"), "uf": ("nf", "f"), "nf": ("pf", "uf"), "ohm": ("mohm",),
    "mh_per_km": ("uh_per_km", "h_per_m", "h_per_km"), "uf_per_km": ("nf_per_km", "f_per_km", "uf_per_m"),
    "ohm_per_km": ("mohm_per_km", "ohm_per_m"), "khz": ("hz",), "hz": ("khz",), "hz_per_s": ("hz_per_min",),
    "s": ("ms",), "ms": ("us", "s"), "us": ("s",), "pu": ("pct",), "pct": ("pu",),
    "pct_of_withstand": ("pu_of_withstand",), "pu_of_withstand": ("pct_of_withstand",), "knm_per_rad": ("nm_per_rad",),
}
# slips that no unit explains: key, what was meant of a value given
OTHER_SLIPS = {
    "poles": ("those are pole pairs", lambda value: 2 * value),
    "x_over_r": ("that is R over X", lambda value: 1.0 / value if value else value),
}
IN_VOLTS = "If that is in V, write it in % of rated_kv."
SHOWN = 60      # longest value shown in a sentence [characters]


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


def address(kind: str, number: int, values: Any) -> str:
    """How a table of the case is addressed: by its name, else by kind and number."""
    name = values.get("name") if isinstance(values, dict) else None
    return name if kind != "event" and isinstance(name, str) and name else f"{kind}[{number}]"


def find_range(field: FieldInfo) -> dict[str, float]:
    """Bounds of a number, or of each number of a list, keyed gt, ge, lt and le."""
    metadata = [*list_item_metadata(field.annotation), *field.metadata]
    return {name: getattr(part, name) for name in SIGNS for part in metadata if hasattr(part, name)}


def list_item_metadata(annotation: Any) -> list:
    """What is declared about the numbers of a list, perhaps absent; empty where it holds something else."""
    if get_origin(annotation) is Annotated:
        return [part for found in annotation.__metadata__ for part in getattr(found, "metadata", [])]
    return [part for inner in get_args(annotation) for part in list_item_metadata(inner)]


def scale_field(field: FieldInfo, key: str, written: str) -> SimpleNamespace:
    """A declared field with its range in the unit of another spelling of its key."""
    bounds = {name: change_unit(bound, key, written) for name, bound in find_range(field).items()}
    return SimpleNamespace(annotation=field.annotation, description=field.description,
                           metadata=[SimpleNamespace(**{name: bound}) for name, bound in bounds.items()])


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
    if key in OTHER_SLIPS and is_within(OTHER_SLIPS[key][1](value), bounds):
        what, meant = OTHER_SLIPS[key]
        return f"If {what}, write {meant(value):g}. {give(field, key)}"
    stem = split_key(key)[0]
    for other in [f"{stem}_{suffix}" for suffix in SLIPS.get(key.removeprefix(f"{stem}_"), ())]:
        meant = change_unit(value, other, key)
        if abs(value) < 1e12 and is_within(meant, bounds):
            return f"If that is in {find_symbol(other)}, write {meant:.6g}. {give(field, key)}"
    return f"{IN_VOLTS} {give(field, key)}" if key == "boost_pct" else give(field, key)


def tell_range_mistake(error: dict, key: str, field: FieldInfo) -> str:
    """A number beyond its range."""
    value = error["input"]
    bounds = find_range(field) or {name: error["ctx"][name] for name in SIGNS if name in error["ctx"]}
    return f"must be {tell_range(bounds)}. {advise(value, key, field, bounds)}"


def tell_number_mistake(error: dict, key: str, field: FieldInfo) -> str:
    """Something else than a number, or one too large to be held."""
    if isinstance(error["input"], int) and not isinstance(error["input"], bool):
        return f"is too large a number. {give(field, key)}"
    kind = "whole number" if error["type"].startswith("int") else "number"
    bounds = tell_range(find_range(field))
    return f"must be a {kind}{f' {bounds}' if bounds else ''}. {give(field, key)}"


def tell_list_mistake(error: dict, key: str, field: FieldInfo) -> str:
    """Something else than a list."""
    if find_inner(field.annotation):
        return f"must be a list of tables. Write each as [[... .{key}]]; it holds the {field.description}."
    what = "names" if "names" in (field.description or "") else "numbers"
    return f"must be a list of {what}. {give(field, key)}"


def tell_length_mistake(error: dict, key: str, field: FieldInfo) -> str:
    """A list that is too short or too long; those of fixed length have a value for each phase."""
    least = error["ctx"].get("min_length", error["ctx"].get("max_length"))
    return f"must hold {least} values, one for each of the phases a, b and c. {give(field, key)}"


def tell_choice_mistake(error: dict, key: str, field: FieldInfo) -> str:
    """A word that is none of the choices."""
    choices = [choice for choice in get_args(field.annotation) if isinstance(choice, str)]
    choices = choices or [c for part in get_args(field.annotation) for c in get_args(part)]
    near = suggest(str(error["input"]), choices)
    return f"must be one of {', '.join(map(show, choices))}. " + (f"Did you mean {show(near)}?" if near else
                                                                  give(field, key))


def tell_name_mistake(error: dict, key: str, field: FieldInfo) -> str:
    """A name or vector group that is not written as one."""
    if key == "vector_group":
        return ("must be the letters of the first winding (D, Y, YN), of the second (d, y, yn) and a clock "
                "number 0 to 11. Write it like Dyn11.")
    return f"must start with a letter and hold letters, digits, _ and - only, 64 at most. {give(field, key)}"


def tell_table_mistake(error: dict, key: str, field: FieldInfo) -> str:
    """Something else than a table."""
    if not isinstance(field.annotation, type) or get_origin(field.annotation):
        return f"must be a table. Write each as [[... .{key}]]; it holds the {field.description}."
    return f"must be a table. Write it as a table of its own; it is the {field.description}."


def tell_notes_mistake(error: dict, key: str, field: FieldInfo) -> str:
    """Grades or sources of single values that are no table."""
    return f"must be a table that gives keys their {key}. Write it like {key} = {{ length_km = \"A\" }}."


PHRASES = {
    **dict.fromkeys(("greater_than", "greater_than_equal", "less_than", "less_than_equal"), tell_range_mistake),
    **dict.fromkeys(("float_type", "float_parsing", "int_type", "int_from_float"), tell_number_mistake),
    "finite_number": lambda error, key, field: f"must be a finite number {tell_range(find_range(field))}. "
                                               f"{give(field, key)}",
    "multiple_of": lambda error, key, field: f"must be a multiple of {error['ctx']['multiple_of']:g}. "
                                             f"{advise(error['input'], key, field, find_range(field))}",
    "literal_error": tell_choice_mistake,
    "list_type": tell_list_mistake,
    **dict.fromkeys(("too_short", "too_long"), tell_length_mistake),
    "dict_type": tell_notes_mistake,
    "model_type": tell_table_mistake,
    "model_attributes_type": tell_table_mistake,
    "string_type": lambda error, key, field: f"must be text in quotes. {give(field, key)}",
    "bool_type": lambda error, key, field: f"must be true or false. {give(field, key)}",
    **dict.fromkeys(("string_pattern_mismatch", "string_too_long", "string_too_short"), tell_name_mistake),
}


def tell_missing(table: type[Table], location: tuple, path: str) -> str:
    """Sentence for a required key that is not there."""
    key, field = location[-1], given(find_field(table, location))
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
    near = suggest_spelling(key, table)
    advice = f"Did you mean {near}?" if near else ask(key, list_keys(table), "keys")
    return f"{path} = {show(value)}: unknown key. {advice}"


def suggest_spelling(key: str, table: type[Table]) -> str | None:
    """The known key nearest to a misspelt one, in the unit it was written in; None when none of its kind is near."""
    stem, unit = split_key(key)
    if unit is None:
        return None
    splits = [split_key(known) for known in list_keys(table)]
    near = suggest(stem, [own for own, kind in splits if kind is not None and kind.si_suffix == unit.si_suffix])
    return f"{near}{key.removeprefix(stem)}" if near else None


def join_path(path: str, location: tuple) -> str:
    """Path of a place within a table: "umbilical.section[2].length_km"."""
    for part in location:
        path += f"[{part + 1}]" if isinstance(part, int) else f".{part}"
    return path


def tell(error: Mapping[str, Any], table: type[Table], path: str,
         spellings: Mapping[str, Any] = MappingProxyType({})) -> str:
    """Sentence for one validation error of a table that stands at `path` in the case, in the words of the file."""
    location = error["loc"]
    keys = tuple(part for part in location if isinstance(part, str))
    here = join_path(path, location)
    if error["type"] == "missing":
        return tell_missing(table, keys, here)
    if error["type"] == "extra_forbidden":
        return tell_unknown(table, keys, here, error["input"])
    key = keys[-1]
    field: Any = find_field(table, keys)
    ends = tuple(takewhile(lambda part: isinstance(part, int), reversed(location)))[::-1]
    said = spellings.get(join_path(path, location[:len(location) - len(ends)]))
    if said is not None:
        here, key, field = join_path(said.path, ends), said.key, scale_field(field, key, said.key)
        error = dict(error) | {"input": reduce(getitem, ends, said.value)}
    phrase = PHRASES.get(error["type"])
    text = phrase(error, key, field) if phrase and field else f"{error['msg']}."
    return f"{here} = {show(error['input'])}: {text}"
