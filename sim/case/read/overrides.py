"""Overrides: KEY=VALUE pairs that replace values of the case file before it is checked."""

import re
from collections.abc import Sequence
from typing import Any

from sim.case.read.messages import ask, suggest_spelling
from sim.case.read.source import read_value
from sim.case.read.spellings import find_declared
from sim.components import KINDS, SINGLE
from sim.components.declared import find_lists, find_tables, list_keys
from sim.components.fields import Table
from sim.components.kinds import NODE_MAKERS

NAMED = [kind for kind in KINDS if kind != "event"]
TWINS = (("_ohm", "_pu"), ("_pu", "_ohm"))
NUMBERED = re.compile(r"(\w+)\[(\d{1,4})\]")


def apply_overrides(data: dict[str, Any], overrides: Sequence[str]) -> list[str]:
    """Write overrides into the tables of a case file.

    Parameters
    ----------
    data : dict
        Tables as read; changed in place.
    overrides : sequence of str
        Each "KEY=VALUE"; KEY is a component's name or study, criteria, title and the keys below it.

    Returns
    -------
    mistakes : list of str
    """
    return [mistake for override in overrides if (mistake := apply_override(data, override))]


def apply_override(data: dict[str, Any], override: str) -> str | None:
    """Write one override; returns the mistake that keeps it from being written."""
    path, equals, text = override.partition("=")
    keys = path.strip().split(".")
    if not equals:
        return f"override {override}: no value. Write it as KEY=VALUE, such as umbilical.length_km=40."
    if keys == ["title"]:
        data["title"] = read_value(text.strip())
        return None
    owner = find_owner(data, keys[0])
    if owner is None:
        advice = ask(keys[0], list_names(data), "names")
        return f"override {path.strip()}: nothing is called {keys[0]}. {advice}"
    return write(*owner, keys, read_value(text.strip()))


def list_names(data: dict[str, Any]) -> list[str]:
    """All that an override can begin with."""
    names = [item.get("name") for kind in NAMED for item in list_items(data, kind)]
    named = [name for name in names if isinstance(name, str)]
    return [*dict.fromkeys([*named, *find_nodes(data)]), *SINGLE, "title"]


def list_items(data: dict[str, Any], kind: str) -> list[dict]:
    """Well-formed tables of a kind."""
    items = data.get(kind, [])
    return [item for item in items if isinstance(item, dict)] if isinstance(items, list) else []


def find_nodes(data: dict[str, Any]) -> list[str]:
    """Names of all nodes that components make."""
    items = [item for kind in NODE_MAKERS for item in list_items(data, kind)]
    ends = [item.get(key) for item in items for key in ("node", "from", "to")]
    return list(dict.fromkeys(end for end in ends if isinstance(end, str)))


def find_owner(data: dict[str, Any], name: str) -> tuple[dict, type[Table]] | None:
    """Table that an override begins at and its declaration; a node's table is made when it has none."""
    if name in SINGLE:
        table = data.setdefault(name, {})
        return (table, SINGLE[name]) if isinstance(table, dict) else None
    for kind in NAMED:
        for item in list_items(data, kind):
            if item.get("name") == name:
                return item, KINDS[kind]
    if name in find_nodes(data) and isinstance(data.get("node", []), list):
        data.setdefault("node", []).append({"name": name})
        return data["node"][-1], KINDS["node"]
    return None


def write(values: dict, table: type[Table], keys: list[str], value: Any) -> str | None:
    """Follow the keys into a table and replace the value there, in whichever unit it was written."""
    for depth, key in enumerate(keys[1:-1], start=1):
        below = enter(values, table, key)
        if below is None:
            return tell_unknown_key(table, keys, depth)
        values, table = below
    declared = find_declared(table, keys[-1])
    if len(keys) < 2 or declared is None or declared in find_tables(table):
        return tell_unknown_key(table, keys, len(keys) - 1)
    twins = {declared.removesuffix(mine) + other for mine, other in TWINS if declared.endswith(mine)}
    for key in [key for key in values if find_declared(table, key) in {declared, *twins}]:
        del values[key]
    values[keys[-1]] = value
    return None


def enter(values: dict, table: type[Table], key: str) -> tuple[dict, type[Table]] | None:
    """Values and declaration of a table within, made when absent; "section[2]" is the second of a list."""
    numbered = NUMBERED.fullmatch(key)
    inner = find_tables(table).get(numbered[1] if numbered else key)
    if inner is None or (numbered is not None) != ((numbered[1] if numbered else key) in find_lists(table)):
        return None
    if numbered is None:
        found = values.setdefault(key, {})
    else:
        items = values.get(numbered[1])
        k = int(numbered[2])
        found = items[k - 1] if isinstance(items, list) and 1 <= k <= len(items) else None
    return (found, inner) if isinstance(found, dict) else None


def tell_unknown_key(table: type[Table], keys: list[str], depth: int) -> str:
    """Mistake of an override that names no value, with the nearest key that does."""
    stem = ".".join(keys[:max(depth, 1)])
    path = f"override {'.'.join(keys)}: no such value."
    if depth == len(keys) - 1 > 0 and (near := suggest_spelling(keys[-1], table)):
        return f"{path} Did you mean {stem}.{near}?"
    known = [f"{stem}.{key}" for key in list_values(table)]
    return f"{path} {ask('.'.join(keys), known, 'keys')}"


def list_values(table: type[Table]) -> list[str]:
    """Dotted keys of all values of a table and the tables within, of a list those of its first table."""
    inner, lists = find_tables(table), find_lists(table)
    return [path for key in list_keys(table)
            for path in ([f"{key}{'[1]' if key in lists else ''}.{below}" for below in list_values(inner[key])]
                         if key in inner else [key])]
