"""The data book of a case: every value with its origin, its grade and where a default comes from."""

import re
from collections.abc import Iterable, Mapping
from typing import Any

from sim.case.book.provenance import Note
from sim.components.declared import find_key, find_tables
from sim.components.fields import PROVENANCE, Filled, Graded, Table, find_basis
from sim.units import split_key, to_si

LEFT_OUT = ("name", *PROVENANCE)


def worst_grade(*grades: str | None) -> str | None:
    """The worst of some grades, None left out; None when there is none."""
    return max((grade for grade in grades if grade is not None), default=None)


class Book:
    """Collects the entries of `CheckedCase.used`; `notes` holds grade and origin of what the case gives, by path."""

    def __init__(self, notes: Mapping[str, Note]):
        self.notes = notes
        self.entries: dict[str, dict] = {}

    def enter(self, path: str, value: Any, origin: str, grade: str | None, basis: str,
              si: tuple[Any, str] | None = None) -> None:
        """One entry; the last key of the path gives the unit, `si` replaces the usual conversion.

        The grade of a given value is the one noted for it; `grade` counts where there is none and for all others.
        """
        key = path.rpartition(".")[2]
        unit = split_key(key)[1]
        value_si, unit_si = si or (to_si(key, value), unit.si_symbol if unit else "")
        note = self.find_note(path)
        if note is not None and origin == "given" and grade is not None:
            grade = note.grade
        self.entries[path] = {"value": value, "unit": unit.symbol if unit else "", "value_si": value_si,
                              "unit_si": unit_si, "origin": origin, "grade": None if value is None else grade,
                              "basis": basis}

    def derive(self, path: str, value: Any, basis: str, sources: Iterable[str] = (),
               si: tuple[Any, str] | None = None) -> None:
        """Enter a value that follows from others, graded as the worst of them.

        Parameters
        ----------
        path, value, basis, si
            As in `enter`.
        sources : iterable of str
            Paths of entries already in the book.  One that is not there counts as a default nobody chose (D); one
            without a grade, such as a setting, does not count.
        """
        self.enter(path, value, "derived", self.find_worst(sources), basis, si)

    def find_worst(self, sources: Iterable[str]) -> str:
        """The worst grade of some entries, D when none of them has one."""
        found = [self.entries[source]["grade"] if source in self.entries else "D" for source in sources]
        return worst_grade(*found) or "D"

    def find_place(self, path: str) -> str:
        """Where a given value was given, in which words, and from what source."""
        note = self.find_note(path)
        return note.place if note else "case file"

    def find_note(self, path: str) -> Note | None:
        """Note of a value; what a table of a list takes from the table around it is noted there."""
        return self.notes.get(path) or self.notes.get(re.sub(r"\.\w+\[\d+\]", "", path))

    def enter_table(self, path: str, table: Table, grade: str | None, filled: dict[str, Filled] | None = None,
                    skip: tuple[str, ...] = ()) -> dict[str, Any]:
        """Enter all values of a table.

        Parameters
        ----------
        path : str
            Where the table stands.
        table : Table
        grade : str or None
            Grade of what was given where `notes` has none; None for settings.
        filled : dict of Filled, optional
            Defaults that follow from other values.
        skip : tuple of str, optional
            Fields that mean nothing here.

        Returns
        -------
        values : dict
            Field by field, defaults filled in, without the tables within and without sources and single grades.
        """
        if isinstance(table, Graded):
            note = self.notes.get(path)
            grade = note.grade if note else grade or "C"
        values = {}
        for name, declared in type(table).model_fields.items():
            if find_key(name, declared) in find_tables(type(table)) or name in PROVENANCE[1:]:
                continue
            values[name] = value = getattr(table, name)
            default = (filled or {}).get(name)
            if value is None and default is not None:
                values[name] = default.value
            if name not in LEFT_OUT and name not in skip:
                self.enter_field(f"{path}.{find_key(name, declared)}", table, name, grade, default)
        self.regrade(path, filled or {})
        return values

    def enter_field(self, path: str, table: Table, name: str, grade: str | None, default: Filled | None) -> None:
        """Enter one field of a table, given or by default."""
        value = getattr(table, name)
        if name in table.model_fields_set:
            self.enter(path, value, "given", grade, self.find_place(path))
            return
        default = default or Filled(value, find_basis(type(table), name))
        on_default = grade and ("D" if default.origin == "default" else grade)
        self.enter(path, default.value, default.origin, on_default, default.basis)

    def regrade(self, path: str, filled: dict[str, Filled]) -> None:
        """Grade what was derived from named values once all of a table are in the book."""
        for name, default in filled.items():
            entry = self.entries.get(f"{path}.{name}")
            if default.sources and entry and entry["origin"] == "derived" and entry["grade"]:
                entry["grade"] = self.find_worst(source if "." in source else f"{path}.{source}"
                                                 for source in default.sources)
