"""From the case file to a checked case in SI: read, override, respell, validate, check the network, convert."""

import hashlib
from collections.abc import Sequence
from os import PathLike
from pathlib import Path

from sim.case.book.databook import Book
from sim.case.book.provenance import collect_notes
from sim.case.check.at_nodes import check_places
from sim.case.check.components import check_parts
from sim.case.check.drives import check_front_ends
from sim.case.check.names import check_names
from sim.case.check.network import check_network
from sim.case.check.notes import check_notes, warn_notes
from sim.case.check.warnings import list_warnings
from sim.case.checked import CheckedCase
from sim.case.read.overrides import apply_overrides
from sim.case.read.schema import case_schema
from sim.case.read.source import read_file, read_toml
from sim.case.read.spellings import respell, restate
from sim.case.read.validation import validate
from sim.case.records.assembly import build_records
from sim.case.suspect.suspicions import explain, list_suspicions
from sim.errors import CaseError

__all__ = ["CheckedCase", "case_schema", "load_case", "parse_case"]


def load_case(path: str | PathLike, overrides: Sequence[str] = (), strict: bool = False) -> CheckedCase:
    """Read and check a case file.

    Parameters
    ----------
    path : path
        TOML file; its stem names the case.
    overrides : sequence of str
        "KEY=VALUE" pairs such as "umbilical.length_km=40", in any unit of their kind.
    strict : bool, optional
        Take suspicions as mistakes.

    Returns
    -------
    CheckedCase

    Raises
    ------
    CaseError
        With all mistakes of the case; with all suspicions when there is no mistake and `strict` is set.
    """
    path = Path(path)
    return parse_case(read_file(path), overrides, path.stem, strict)


def parse_case(text: str, overrides: Sequence[str] = (), name: str = "case", strict: bool = False) -> CheckedCase:
    """Check a case given as text; the rest as in `load_case`."""
    data = read_toml(text)
    mistakes = apply_overrides(data, overrides)
    respelt = respell(data)
    parts = validate(respelt)
    mistakes += [*parts.mistakes, *check_names(parts), *check_parts(parts), *check_network(parts),
               *check_front_ends(parts), *check_places(parts), *check_notes(parts)]
    if mistakes:
        raise CaseError(list(dict.fromkeys(restate(mistake, parts.spellings) for mistake in explain(mistakes, parts))))
    suspicions = [restate(text, parts.spellings) for text in list_suspicions(parts)]
    if strict and suspicions:
        raise CaseError(suspicions)
    book = Book(collect_notes(parts, {override.partition("=")[0].strip() for override in overrides}))
    try:
        records = build_records(parts, book)
    except CaseError as error:
        raise CaseError([*(restate(mistake, parts.spellings) for mistake in error.mistakes), *suspicions]) from None
    warnings = [restate(warning, parts.spellings) for warning in [*list_warnings(parts), *warn_notes(parts)]]
    return CheckedCase(name=name, text=text, overrides=tuple(overrides), sha256=hash_case(text, overrides),
                       title=parts.title or name, warnings=[*warnings, *suspicions], used=book.entries,
                       suspicions=tuple(suspicions), **records)


def hash_case(text: str, overrides: Sequence[str] = ()) -> str:
    """SHA-256 of a case: its text and its overrides in their order, a line each."""
    return hashlib.sha256("\n".join([text, *overrides]).encode("utf-8", "surrogatepass")).hexdigest()
