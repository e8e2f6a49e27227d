"""How the tables of a case file are declared: names, quantities and their range, defaults and their basis."""

from typing import Annotated, Any, Literal, NamedTuple, TypeVar

from pydantic import BaseModel, ConfigDict, Field
from pydantic_core import PydanticUndefined

from sim.units import find_symbol

NAME_PATTERN = r"^[A-Za-z][A-Za-z0-9_-]*$"
Name = Annotated[str, Field(pattern=NAME_PATTERN, max_length=64)]
Grade = Literal["A", "B", "C", "D"]
Role = Literal["data", "setting", "minor"]
NO_BASIS = "not given"
DATA: Role = "data"


class Filled(NamedTuple):
    """A default that follows from other values: value, where it comes from, and "default" or "derived".

    A derived one may name the values it follows from, as keys of its table or as paths of the case: its grade is
    then the worst of theirs.
    """

    value: Any
    basis: str
    origin: str = "default"
    sources: tuple[str, ...] = ()


def add_units(schema: dict[str, Any]) -> None:
    """Write the unit of every property into a JSON Schema, and leave its part in the data grade out."""
    for key, entry in schema.get("properties", {}).items():
        entry.pop("role", None)
        if find_symbol(key):
            entry["unit"] = find_symbol(key)


class Table(BaseModel):
    """A table of the case file: no unknown keys, no conversion between types, no NaN, fixed once read."""

    model_config = ConfigDict(extra="forbid", strict=True, allow_inf_nan=False, frozen=True,
                              json_schema_extra=add_units)


def quantity(description: str, *, over: float | None = None, least: float | None = None,
             under: float | None = None, most: float | None = None, default: Any = PydanticUndefined,
             basis: str | None = None, role: Role = DATA, **more: Any) -> Any:
    """Declare a number of the case file.

    Parameters
    ----------
    description : str
        A noun phrase that completes "Give the ...".
    over, least, under, most : float, optional
        Range, in the unit of the key: > over, >= least, < under, <= most.
    default : float, optional
        Left out for a required key; None for a value that may be absent or follows from others.
    basis : str, optional
        Where the default comes from.
    role : str
        Part in the data grade of a verdict: "data" counts, a "setting" is a decision and not data, a "minor" quantity
        shapes a transient but does not decide whether a machine comes up to speed.
    """
    extra: dict[str, Any] = {"basis": basis or NO_BASIS} if default is not PydanticUndefined else {}
    if role != DATA:
        extra["role"] = role
    return Field(default, gt=over, ge=least, lt=under, le=most, description=description,
                 json_schema_extra=extra or None, **more)


def high_frequency_quality() -> Any:
    """Declare how much of a winding's loss rises with frequency."""
    return quantity("ratio of leakage reactance to the resistance that rises with frequency, at 10 kHz", least=1,
                    most=1e9, default=10.0, basis="careful: amplitude factors of recovery voltages give 4 to 7, common "
                    "practice 5 to 30", role="minor")


def rounding() -> Any:
    """Declare over which share of its flux the knee of an iron core is rounded."""
    return quantity("width to both sides over which the knee is rounded, of its flux; 0: two straight lines", least=0,
                    most=30, default=5.0, basis="assumed: sheet steel bends over some per cent of its flux",
                    role="minor")


def setting(description: str, default: Any = PydanticUndefined, basis: str | None = None, **more: Any) -> Any:
    """Declare a name, a choice or a flag of the case file; the arguments are those of `quantity`."""
    return quantity(description, default=default, basis=basis, **more)


def find_basis(table: type[Table], name: str) -> str:
    """Where the default of a field comes from."""
    extra = table.model_fields[name].json_schema_extra
    return str(extra["basis"]) if isinstance(extra, dict) and "basis" in extra else NO_BASIS


Read = Any      # a table as read from a case file: what is missing or wrong in it is None, whatever is declared
Value = TypeVar("Value")


def given(value: Value | None) -> Value:
    """A value that the checks have found to be there.

    Raises
    ------
    TypeError
        When it is absent all the same.
    """
    if value is None:
        raise TypeError("a value that should have been checked is absent")
    return value


class Graded(Table):
    """Given data with their grade and source, as a whole and value by value.

    The grade of a given value is its own in `grades`, else that of its table, else that of the component, else C;
    its source is found the same way.
    """

    grade: Grade | None = setting("grade of the given data: A measured, B guaranteed, C typical, D assumed", None,
                                  "that of the component, typical unless stated otherwise")
    source: str | None = setting("source of the given data, in free text", None, "that of the component")
    grades: dict[str, Grade] = setting("grades of single values, by key", {}, "none of their own")
    sources: dict[str, str] = setting("sources of single values, by key", {}, "none of their own")


class Component(Graded):
    """What every component of the single-line diagram has."""

    name: Name = setting("name of the component, unique in the case")
    grade: Grade = setting("grade of the given data: A measured, B guaranteed, C typical, D assumed", "C",
                           "given data count as typical unless stated otherwise")


PROVENANCE = tuple(Graded.model_fields)
