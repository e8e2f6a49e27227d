"""TOML text to nested tables, with mistakes in place of exceptions."""

import tomllib
from pathlib import Path
from typing import Any

from sim.errors import CaseError


def read_file(path: Path) -> str:
    """Text of a case file.

    Raises
    ------
    CaseError
        When the file cannot be read or is not UTF-8 text.
    """
    try:
        return path.read_bytes().decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        raise CaseError([f"{path}: not UTF-8 text at byte {error.start}. Save the case file as "
                         "UTF-8."]) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise CaseError([f"{path}: cannot be read ({reason}). Check the path of the case file."]) from None


def read_toml(text: str) -> dict[str, Any]:
    """Tables of a case file.

    Raises
    ------
    CaseError
        When the text is not TOML, with line and column where they are known.
    """
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise CaseError([f"case file: not valid TOML, {error}. Text goes in quotes, tables are written "
                         "[study] or [[cable]]."]) from None
    except (ValueError, RecursionError) as error:
        raise CaseError([f"case file: not readable TOML ({error}). Look for a number or a nesting that is "
                         "far too long."]) from None


def read_value(text: str) -> Any:
    """Value of an override: read as a TOML value, as plain text when it is none."""
    try:
        tables = tomllib.loads(f"value = {text}")
    except (ValueError, RecursionError):
        return text
    return tables["value"] if list(tables) == ["value"] else text
