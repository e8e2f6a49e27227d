"""JSON that any reader accepts, and a form of it that keeps numbers which are not finite."""

import json
from collections.abc import Callable
from math import isfinite
from typing import Any


def to_json(value: Any, indent: int | None = None) -> str:
    """Strict JSON; NaN and infinities become null, arrays lists."""
    return json.dumps(plain(value, lambda number: None), indent=indent, allow_nan=False)


def to_exact_json(value: Any) -> str:
    """Strict JSON that `from_exact_json` reads back unchanged, NaN and infinities included."""
    return json.dumps(plain(value, lambda number: {"float": repr(float(number))}), allow_nan=False)


def from_exact_json(text: str) -> Any:
    """Value of a text made by `to_exact_json`."""
    return json.loads(text, object_hook=restore)


def restore(table: dict) -> Any:
    """A number that is not finite from its table, any other table as it is."""
    return float(table["float"]) if list(table) == ["float"] and isinstance(table["float"], str) else table


def plain(value: Any, replace: Callable[[float], Any]) -> Any:
    """Value in plain Python, with every number that is not finite replaced."""
    if hasattr(value, "tolist"):
        value = value.tolist()
    if isinstance(value, dict):
        return {str(key): plain(item, replace) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [plain(item, replace) for item in value]
    return replace(value) if isinstance(value, float) and not isfinite(value) else value
