"""Keys written in another unit than the declared one: rated_hp for rated_kw, length_nmi for length_km."""

import re
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from sim.case.read.messages import address, show
from sim.components import KINDS, SINGLE
from sim.components.declared import find_lists, find_tables, list_keys
from sim.components.fields import Table
from sim.units import change_unit, list_suffixes, split_key


class Spelling(NamedTuple):
    """A key as the case file writes it: its path, the key, the value there, and the declared key it stands for."""

    path: str
    key: str
    value: Any
    declared: str


@dataclass(frozen=True)
class Respelt:
    """Tables under declared keys; `spellings` is keyed by the paths of these."""

    data: dict[str, Any]
    spellings: dict[str, Spelling] = field(default_factory=dict)
    mistakes: list[str] = field(default_factory=list)


def list_spellings(key: str) -> list[str]:
    """All other keys that stand for a declared key, one for each unit of its kind."""
    stem, unit = split_key(key)
    others = [f"{stem}_{suffix}" for suffix in list_suffixes(unit.si_suffix)] if unit else []
    return [other for other in others if other != key]


def find_declared(table: type[Table], key: str) -> str | None:
    """The declared key that a key stands for: itself, the only one of its stem and kind, or None."""
    known = list_keys(table)
    if key in known:
        return key
    stem, unit = split_key(key)
    if unit is None:
        return None
    splits = {other: split_key(other) for other in known}
    near = [other for other, (own, kind) in splits.items()
            if own == stem and kind is not None and kind.si_suffix == unit.si_suffix]
    return near[0] if len(near) == 1 else None


def respell(data: dict[str, Any]) -> Respelt:
    """Bring all keys of a case file to the declared ones, values converted.

    Parameters
    ----------
    data : dict
        Tables as read, overrides written in; left as they are.

    Returns
    -------
    Respelt
        With a mistake for every value that is given in two units.
    """
    found = Respelt(dict(data))
    for name, table in SINGLE.items():
        if isinstance(data.get(name), dict):
            found.data[name] = respell_table(data[name], table, name, found)
    for kind, table in KINDS.items():
        if isinstance(data.get(kind), list):
            found.data[kind] = [respell_table(item, table, address(kind, number, item), found)
                                for number, item in enumerate(data[kind], start=1)]
    return found


def respell_table(values: Any, table: type[Table], path: str, found: Respelt) -> Any:
    """One table with those within; spellings and mistakes go into `found`."""
    if not isinstance(values, dict):
        return values
    kept: dict[str, Any] = {}
    for key, value in values.items():
        declared = find_declared(table, key)
        if declared is None or declared == key:
            kept[key] = respell_within(value, table, key, f"{path}.{key}", found)
        elif declared in values or declared in kept:
            first = found.spellings.get(f"{path}.{declared}")
            said = (first.key, first.value) if first else (declared, values[declared])
            found.mistakes.append(f"{path}.{key} = {show(value)}: the same value as {said[0]} = {show(said[1])} in "
                                "another unit. Keep one of the two.")
        else:
            kept[declared] = change_unit(value, key, declared)
            found.spellings[f"{path}.{declared}"] = Spelling(f"{path}.{key}", key, value, declared)
    return kept


def respell_within(value: Any, table: type[Table], key: str, path: str, found: Respelt) -> Any:
    """Value of a declared or unknown key: a table within, a list of tables, or left as it is."""
    inner = find_tables(table).get(key)
    if inner is None:
        return value
    if key in find_lists(table) and isinstance(value, list):
        return [respell_table(item, inner, f"{path}[{k}]", found) for k, item in enumerate(value, start=1)]
    return respell_table(value, inner, path, found)


def restate(text: str, spellings: dict[str, Spelling]) -> str:
    """A sentence that names values by their declared keys, in the words of the file."""
    for path, said in spellings.items():
        if path in text:
            head = f"{said.path} = {show(said.value)}, that is {said.declared} = "
            text = head.join(re.split(rf"(?<![\w.\-\]]){re.escape(path)} = ", text))
    return text
