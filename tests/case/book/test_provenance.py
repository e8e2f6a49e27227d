"""Grades and sources of given values: a value's own, then its table's, then the component's."""

import pytest

from sim.case.book.databook import Book, worst_grade
from sim.case.book.provenance import Note
from sim.components.fields import Filled, Graded, quantity
from sim.measures.verdict.grade import find_grade

from ..sample import MACHINE, find_mistake, make, parse


def make_cable(**values):
    data = make()
    data["cable"][0] |= values
    return data


def find_entry(data, path, *overrides):
    entry = parse(data, *overrides).used[path]
    return entry["grade"], entry["basis"]


def test_value_then_table_then_component():
    machine = MACHINE | {
        "grade": "B", "source": "data sheet",
        "motor": MACHINE["motor"] | {"grade": "A", "grades": {"poles": "C"}, "sources": {"rated_kv": "nameplate"}},
        "load": {"kind": "pump", "source": "test curve", "dip_pct": 9.0}}
    used = parse(make(machine=[machine])).used
    found = {path: (used[f"booster.{path}"]["grade"], used[f"booster.{path}"]["basis"]) for path in (
        "node", "motor.poles", "motor.rated_kv", "motor.circuit.rotor_resistance_pu", "load.dip_pct",
        "shaft.inertia_kgm2")}
    assert found == {
        "node": ("B", "case file: data sheet"),
        "motor.poles": ("C", "case file: data sheet"),
        "motor.rated_kv": ("A", "case file: nameplate"),
        "motor.circuit.rotor_resistance_pu": ("A", "case file: data sheet"),
        "load.dip_pct": ("B", "case file: test curve"),
        "shaft.inertia_kgm2": ("B", "case file: data sheet")}
    assert used["booster.load.dip_speed_pct"]["grade"] == "D"


def test_nothing_said_is_typical():
    assert find_entry(make(), "umbilical.length_km") == ("C", "case file")


def test_nodes_have_grade_and_source():
    node = {"name": "subsea_bus", "um_kv": 7.2, "grade": "A", "source": "type test 2025"}
    assert find_entry(make(node=[node]), "subsea_bus.um_kv") == ("A", "case file: type test 2025")


def test_value_in_another_unit_keeps_its_source():
    data = make_cable(length_nmi=15.0, grades={"length_nmi": "A"}, sources={"length_km": "as laid"})
    del data["cable"][0]["length_km"]
    assert find_entry(data, "umbilical.length_km") == ("A", "case file, given as length_nmi = 15.0: as laid")


def test_override_has_neither_grade_nor_source_of_the_value_it_replaces():
    data = make_cable(grades={"length_km": "A"}, source="survey")
    assert find_entry(data, "umbilical.length_km") == ("A", "case file: survey")
    assert find_entry(data, "umbilical.length_km", "umbilical.length_km=40") == ("C", "override")
    assert find_entry(data, "umbilical.length_km", "umbilical.length_m=4e4") == (
        "C", "override, given as length_m = 40000.0")


def test_sections_of_a_cable_have_their_own_and_take_the_rest_from_the_cable():
    data = make_cable(grade="B", source="factory test", section=[
        {"length_km": 3.0, "grade": "A", "source": "as laid"}, {"length_m": 25000, "grades": {"length_m": "C"}}])
    del data["cable"][0]["length_km"]
    used = parse(data).used
    assert [(used[f"umbilical.section[{k}].{key}"]["grade"], used[f"umbilical.section[{k}].{key}"]["basis"])
            for k, key in ((1, "length_km"), (2, "length_km"), (2, "resistance_ohm_per_km"))] == [
        ("A", "case file: as laid"), ("C", "case file, given as length_m = 25000: factory test"),
        ("B", "case file: factory test")]


def test_study_and_criteria_have_no_grade():
    used = parse(make()).used
    assert used["study.duration_s"]["grade"] is None and used["criteria.time_to_speed_max_s"]["grade"] is None


@pytest.mark.parametrize("values, told", [
    ({"grades": {"lenght_km": "A"}},
     "umbilical.grades.lenght_km: the table has no such value. Did you mean length_km?"),
    ({"sources": {"grade": "x"}}, "umbilical.sources.grade: the table has no such value."),
    ({"sources": {"section": "x"}}, "umbilical.sources.section: the table has no such value."),
    ({"grades": {"length_km": "E"}}, 'umbilical.grades.length_km = "E": must be one of "A", "B", "C", "D".'),
    ({"grades": "A"}, 'umbilical.grades = "A": must be a table that gives keys their grades. Write it like grades = '
                      '{ length_km = "A" }.'),
    ({"sources": {"length_km": 3}}, "umbilical.sources.length_km = 3: must be text in quotes."),
    ({"source": 3}, "umbilical.source = 3: must be text in quotes.")])
def test_wrong_grades_and_sources(values, told):
    assert find_mistake(make_cable(**values)).startswith(told)


def test_grade_of_an_absent_value_is_a_warning():
    assert parse(make_cable(grades={"ampacity_a": "A"})).warnings == [
        "umbilical.grades.ampacity_a: ampacity_a is not given, its grade is left out"]


class Plate(Graded):
    """A table with values that follow from others."""

    a_kv: float = quantity("a", least=0, most=9)
    b_kv: float = quantity("b", least=0, most=9)
    c_kv: float | None = quantity("c", least=0, most=9, default=None)
    d_kv: float = quantity("d", least=0, most=9, default=3.0, basis="common practice")
    e_kv: float | None = quantity("e", least=0, most=9, default=None)


def enter_plate():
    """Book of a plate: a is measured, b guaranteed, c follows from both, e from a default as well."""
    book = Book({"p": Note("B", "case file"), "p.a_kv": Note("A", "case file"), "p.b_kv": Note("B", "case file")})
    book.enter_table("p", Plate(a_kv=1.0, b_kv=2.0), "B", {
        "c_kv": Filled(3.0, "a_kv and b_kv", "derived", ("a_kv", "p.b_kv")),
        "e_kv": Filled(6.0, "c_kv and d_kv", "derived", ("c_kv", "d_kv"))})
    return book


def test_derived_field_has_the_worst_grade_of_what_it_follows_from():
    grades = {path: entry["grade"] for path, entry in enter_plate().entries.items()}
    assert grades == {"p.a_kv": "A", "p.b_kv": "B", "p.c_kv": "B", "p.d_kv": "D", "p.e_kv": "D"}


@pytest.mark.parametrize("sources, grade", [
    (["p.a_kv"], "A"), (["p.a_kv", "p.c_kv"], "B"), (["p.a_kv", "p.d_kv"], "D"), (["p.a_kv", "q.x"], "D"), ([], "D")])
def test_derived_entry_has_the_worst_grade_of_its_sources(sources, grade):
    book = enter_plate()
    book.derive("p.sum_kv", 3.0, "a and others", sources, (3.0, "V"))
    assert book.entries["p.sum_kv"] == {"value": 3.0, "unit": "kV", "value_si": 3.0, "unit_si": "V",
                                        "origin": "derived", "grade": grade, "basis": "a and others"}


def test_worst_of_grades():
    assert worst_grade("A", None, "C", "B") == "C" and worst_grade(None) is None and worst_grade() is None


def test_derived_values_count_in_the_grade_of_the_verdict():
    case = parse(make())
    given = {path: entry | {"grade": entry["grade"] and "A"} for path, entry in case.used.items()}
    lowered = given | {"booster.motor.rated_current_a": given["booster.motor.rated_current_a"] | {"grade": "C"}}
    object.__setattr__(case, "used", lowered)
    assert find_grade(case) == "C"
