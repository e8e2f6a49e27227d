"""Cables: constants per length as given, or derived from the construction, section by section."""

from typing import Any

from sim.case.book.databook import Book
from sim.case.read.validation import Item
from sim.case.records.cable_joints import CablePoint, cut_sections
from sim.case.records.cable_lines import make_given_lines
from sim.components.branches import cable as cables
from sim.components.fields import Filled
from sim.errors import CaseError
from sim.units import Record, convert


def build_cable(item: Item, nominal_kv: float, frequency: float, points: list[CablePoint], book: Book) -> Record:
    """Record of a cable with a `sections` list; a cable without sections is one of its own.

    Parameters
    ----------
    item : Item
    nominal_kv : float
        Nominal voltage of its nodes, for the voltage class. [kV]
    frequency : float
        Rated frequency of its island. [Hz]
    points : list of CablePoint
        Joints of its sections and faults along it, from near to far.
    book : Book

    Raises
    ------
    CaseError
        When constants given contradict the construction given.
    """
    table, path = item.table, item.path
    lines = [cables.inherit(section, table) for section in table.section] or [table]
    paths = [f"{path}.section[{k}]" for k in range(1, len(lines) + 1)] if table.section else [path]
    klass = table.voltage_class_kv or table.rated_kv or nominal_kv
    sections: list[Record] = []
    own: dict[str, Any] = {}
    for line, here in zip(lines, paths):
        values = enter_line(line, here, line.grade or table.grade, klass, book)
        sections.append(build_section(line, here, values, frequency, book))
        own = own or values
    if table.section:
        own = enter_outer(table, path, sum(line.length_km for line in lines), book)
    outer = {key: own[key] for key in ("name", "from_node", "to_node", "length_km", "rated_kv", "ampacity_a",
                                      "trapped_pu", "grade")}
    return Record(**vars(convert(outer)), joints=[point.node for point in points],
                  sections=cut_sections(sections, points))


def enter_outer(table: cables.Cable, path: str, length_km: float, book: Book) -> dict[str, Any]:
    """Enter what a cable with sections says of the whole."""
    unused = (*cables.Line.model_fields, "section")
    filled = {"length_km": Filled(length_km, "the sections added", "derived")}
    return book.enter_table(path, table, table.grade, filled, skip=unused)


def enter_line(line: cables.Line, path: str, grade: str, klass: float, book: Book) -> dict[str, Any]:
    """Enter the values of a cable without sections, or of one section, and return them completed."""
    if not cables.is_built(line):
        return book.enter_table(path, line, grade, cables.find_defaults(line), skip=(*cables.BUILD, "section"))
    from sim.case.records.cable_constructions import complete
    try:
        filled = complete(line, klass)
    except ValueError as error:
        raise CaseError([f"{path}: {error}"]) from None
    derived = tuple(name for name in cables.FOUND if name not in line.model_fields_set)
    return book.enter_table(path, line, grade, filled, skip=(*derived, "section"))


def build_section(line: cables.Line, path: str, values: dict[str, Any], frequency: float, book: Book) -> Record:
    """Electrical record of one section."""
    length = values["length_km"] * 1e3
    if cables.is_built(line):
        from sim.case.records.cable_constructions import derive
        try:
            return Record(length_m=length, **derive(line, path, values, frequency, book))
        except ValueError as error:
            raise CaseError([f"{path}: {error}"]) from None
    return Record(length_m=length, design=None, **make_given_lines(values))
