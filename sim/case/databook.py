"""The data book of a case: every value with its origin, its grade and where a default comes from."""

from typing import Any

from sim.case.faults import find_key, find_tables
from sim.components.fields import Filled, Table, find_basis
from sim.units import split_key, to_si

LEFT_OUT = ("name", "grade")


class Book:
    """Collects the entries of `CheckedCase.used`."""

    def __init__(self, overridden: set[str]):
        self.overridden = overridden
        self.entries: dict[str, dict] = {}

    def enter(self, path: str, value: Any, origin: str, grade: str | None, basis: str,
              si: tuple[Any, str] | None = None) -> None:
        """One entry; the last key of the path gives the unit, `si` replaces the usual conversion."""
        key = path.rpartition(".")[2]
        unit = split_key(key)[1]
        value_si, unit_si = si or (to_si(key, value), unit.si_symbol if unit else "")
        self.entries[path] = {"value": value, "unit": unit.symbol if unit else "", "value_si": value_si,
                              "unit_si": unit_si, "origin": origin, "grade": None if value is None else grade,
                              "basis": basis}

    def find_place(self, path: str) -> str:
        """Where a given value was given."""
        return "override" if path in self.overridden else "case file"

    def enter_table(self, path: str, table: Table, grade: str | None, filled: dict[str, Filled] | None = None,
                    skip: tuple[str, ...] = ()) -> dict[str, Any]:
        """Enter all values of a table.

        Parameters
        ----------
        path : str
            Where the table stands.
        table : Table
        grade : str or None
            Grade of what was given; None for settings.
        filled : dict of Filled, optional
            Defaults that follow from other values.
        skip : tuple of str, optional
            Fields that mean nothing here.

        Returns
        -------
        values : dict
            Field by field, defaults filled in, without the tables within.
        """
        values = {}
        for name, declared in type(table).model_fields.items():
            if name in find_tables(type(table)):
                continue
            values[name] = value = getattr(table, name)
            default = (filled or {}).get(name)
            if value is None and default is not None:
                values[name] = default.value
            if name in LEFT_OUT or name in skip:
                continue
            here = f"{path}.{find_key(name, declared)}"
            if name in table.model_fields_set:
                self.enter(here, value, "given", grade, self.find_place(here))
                continue
            default = default or Filled(value, find_basis(type(table), name))
            on_default = grade and ("D" if default.origin == "default" else grade)
            self.enter(here, default.value, default.origin, on_default, default.basis)
        return values
