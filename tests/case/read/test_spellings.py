"""Values in other units than the declared ones: same case, messages and data book in the words of the file."""

import dataclasses
from typing import Annotated

import pytest
from pydantic import Field
from scipy import constants

from sim.case.read.overrides import list_values, write
from sim.case.read.spellings import find_declared, list_spellings, respell
from sim.case.read.validation import validate
from sim.components import KINDS, SINGLE
from sim.components.declared import find_lists, find_tables
from sim.components.fields import Component, Graded, quantity
from sim.units import find_symbol, split_key

from ..sample import find_mistake, find_mistakes, make, parse


def respell_sample(kind, within, key, written, value):
    """Sample with a key of the first table of a kind given in another unit."""
    data = make()
    table = data[kind][0]
    for part in within:
        table = table[part]
    table.pop(key, None)
    table[written] = value
    return data


# (table, key, its value in the sample, other key, value in that unit by the definition of the unit)
WRITTEN = [
    ("machine", ("motor",), "rated_kw", "rated_hp", 2.0e6 / constants.hp),
    ("machine", ("motor",), "rated_kw", "rated_mw", 2.0),
    ("machine", ("motor",), "rated_kv", "rated_v", 6600.0),
    ("machine", ("shaft",), "inertia_kgm2", "inertia_gd2_kgm2", 360.0),
    ("machine", ("shaft",), "inertia_kgm2", "inertia_wk2_lbft2", 90.0 / (constants.pound * constants.foot**2)),
    ("machine", ("motor", "circuit"), "rotor_resistance_pu", "rotor_resistance_pct", 1.0),
    ("cable", (), "length_km", "length_nmi", 28e3 / constants.nautical_mile),
    ("cable", (), "length_km", "length_m", 28000),
    ("cable", (), "resistance_ohm_per_km", "resistance_ohm_per_kft", 0.25 * 0.3048),
    ("cable", (), "capacitance_uf_per_km", "capacitance_nf_per_km", 200.0),
    ("cable", (), "inductance_mh_per_km", "inductance_uh_per_m", 0.4),
    ("transformer", (), "rated_mva", "rated_kva", 5000.0),
    ("transformer", (), "impedance_pct", "impedance_pu", 0.08),
    ("shunt", (), "inductance_mh", "inductance_h", 0.9),
    ("event", (), "at_s", "at_ms", 500.0),
]


@pytest.mark.parametrize("kind, within, key, written, value", WRITTEN)
def test_other_unit_makes_the_same_case(kind, within, key, written, value):
    plain, other = parse(make()), parse(respell_sample(kind, within, key, written, value))
    path = next(path for path, entry in other.used.items() if "given as" in entry["basis"])
    assert path.endswith(".".join(("", *within, key)))
    assert other.used[path]["basis"] == f"case file, given as {written} = {value!r}"
    # a few roundings
    assert other.used[path]["value_si"] == pytest.approx(plain.used[path]["value_si"], rel=1e-15, abs=0.0)
    kinds = {f.name for f in dataclasses.fields(plain)} - {"text", "sha256", "used"}
    if value not in (2.0e6 / constants.hp, 28e3 / constants.nautical_mile, 0.25 * 0.3048, WRITTEN[4][4]):
        assert all(getattr(plain, name) == getattr(other, name) for name in kinds)      # exact factors: equal bits


def test_unit_of_the_case_file_is_kept_where_it_is_the_declared_one():
    used = parse(make()).used
    assert used["umbilical.length_km"]["basis"] == "case file"


@pytest.mark.parametrize("kind, within, key, written, value, told", [
    ("machine", ("motor",), "rated_kw", "rated_hp", -3084.0,
     "booster.motor.rated_hp = -3084.0: must be >= 0.134102 and <= 268204. Did you mean 3084.0?"),
    ("machine", ("motor",), "rated_kw", "rated_hp", "3084",
     'booster.motor.rated_hp = "3084": must be a number >= 0.134102 and <= 268204. Give the rated shaft power in hp.'),
    ("machine", ("motor",), "rated_kw", "rated_hp", 10**400,
     "booster.motor.rated_hp = 10000000000000000000000000000000000000000000000000000000 ...: is too large"),
    ("cable", (), "length_km", "length_m", 600000,
     "umbilical.length_m = 600000: must be > 0 and <= 500000. If that is in mm, write 600. Give the length of the "
     "cable in m."),
    ("cable", (), "length_km", "length_m", True, "umbilical.length_m = true: must be a number > 0 and <= 500000."),
    ("cable", (), "length_km", "length_m", float("inf"), "umbilical.length_m = inf: must be a finite number"),
    ("cable", (), "length_km", "lenght_nmi", 15.0,
     "umbilical.lenght_nmi = 15.0: unknown key. Did you mean length_nmi?"),
    ("cable", (), "length_km", "length_m", 0.5,
     "umbilical.length_m = 0.5, that is length_km = 0.0005: shorter than 1 m."),
    ("transformer", (), "from_kv", "from_v", 11000,
     "subsea_transformer.from_v = 11000, that is from_kv = 11: 67 % from host_grid.rated_kv = 33,")])
def test_mistakes_speak_in_the_unit_of_the_file(kind, within, key, written, value, told):
    assert any(mistake.startswith(told) for mistake in find_mistakes(respell_sample(kind, within, key, written, value)))


def test_element_of_a_list_is_told_in_the_unit_of_the_file():
    data = make()
    data["machine"][0]["load"] = {"kind": "table", "speed_pu": [0.0, -0.5], "torque_pct": [1.0, 2.0]}
    assert find_mistake(data) == "booster.load.speed_pu[2] = -0.5: must be >= 0 and <= 3. Did you mean 0.5?"


@pytest.mark.parametrize("changes, told", [
    ({"rated_hp": 3084.0}, "booster.motor.rated_hp = 3084.0: the same value as rated_kw = 2000.0 in another unit. Keep "
                           "one of the two."),
    ({"rated_kw": None, "rated_hp": 3084.0, "rated_mw": 2.3},
     "booster.motor.rated_mw = 2.3: the same value as rated_hp = 3084.0 in another unit. Keep one of the two.")])
def test_value_in_two_units_is_a_mistake(changes, told):
    data = make()
    motor = data["machine"][0]["motor"] | changes
    data["machine"][0]["motor"] = {key: value for key, value in motor.items() if value is not None}
    assert find_mistake(data) == told


@pytest.mark.parametrize("key", ["length_kg", "length", "length_s", "lengths_m"])
def test_unit_of_another_kind_is_an_unknown_key(key):
    data = make()
    data["cable"][0][key] = 28.0
    assert find_mistake(data).startswith(f"umbilical.{key} = 28.0: unknown key.")


@pytest.mark.parametrize("overrides, length, basis", [
    (["umbilical.length_m=40e3"], 40e3, "override, given as length_m = 40000.0"),
    (["umbilical.length_m=40e3", "umbilical.length_km=41"], 41e3, "override"),
    (["umbilical.length_km=41", "umbilical.length_nmi=10"], 18520.0, "override, given as length_nmi = 10"),
    (["umbilical.length_km=41"], 41e3, "override")])
@pytest.mark.parametrize("written, value", [("length_km", 28.0), ("length_nmi", 15.0)])
def test_override_replaces_either_spelling(written, value, overrides, length, basis):
    case = parse(respell_sample("cable", (), "length_km", written, value), *overrides)
    assert case.cables[0].length_m == pytest.approx(length, rel=1e-15, abs=0.0)
    assert case.used["umbilical.length_km"]["basis"] == basis


def test_override_in_ohm_replaces_per_cent():
    data = respell_sample("machine", ("motor", "circuit"), "rotor_resistance_pu", "rotor_resistance_pct", 1.0)
    circuit = parse(data, "booster.motor.circuit.rotor_resistance_mohm=200").machines[0].motor.circuit
    assert circuit.rotor_resistance_ohm == 0.2


def test_misspelt_override_keeps_its_unit():
    assert find_mistake(make(), "umbilical.lenght_m=4") == (
        "override umbilical.lenght_m: no such value. Did you mean umbilical.length_m?")


def list_tables():
    """Every table of the case file with those within."""
    waiting = list((SINGLE | KINDS).values())
    while waiting:
        table = waiting.pop()
        yield table
        waiting += find_tables(table).values()


@pytest.mark.parametrize("table", list(dict.fromkeys(list_tables())), ids=lambda table: table.__name__)
def test_spellings_are_unambiguous(table):
    keys = [field.alias or name for name, field in table.model_fields.items()]
    for key in keys:
        for other in list_spellings(key):
            assert find_declared(table, other) == (other if other in keys else key)
            assert split_key(other)[0] == split_key(key)[0] and find_symbol(other)


class Part(Graded):
    """A table that stands in a list."""

    length_km: float = quantity("length of the part", over=0, most=500)
    depth_m: float | None = quantity("depth of the part", least=0, most=5000, default=None)


class Chain(Component):
    """A component with a list of tables and one table."""

    part: list[Part] | None = Field(None, description="parts of the chain")
    end: Part | None = Field(None, description="end of the chain")
    marks_km: list[Annotated[float, Field(ge=0)]] | None = quantity("places of marks", default=None)


@pytest.fixture
def chains(monkeypatch):
    """A kind of component with lists of tables; gives the validated parts of such a case."""
    monkeypatch.setitem(KINDS, "chain", Chain)
    return lambda *items: validate(respell({"study": {"duration_s": 1.0}, "chain": list(items)}))


def test_tables_of_a_list_are_found():
    assert find_tables(Chain) == {"part": Part, "end": Part} and find_lists(Chain) == ["part"]
    assert {"part[1].length_km", "end.depth_m", "marks_km"} <= set(list_values(Chain))


def test_list_of_tables_is_respelt_and_validated(chains):
    parts = chains({"name": "c", "part": [{"length_m": 500.0}, {"length_km": 2.0, "depth_ft": 1000.0}]})
    first, second = parts.items[0].table.part
    assert parts.mistakes == [] and first.length_km == 0.5
    assert second.depth_m == pytest.approx(304.8, rel=1e-15, abs=0.0)
    assert set(parts.spellings) == {"c.part[1].length_km", "c.part[2].depth_m"}


def test_mistakes_in_a_list_of_tables_are_addressed_and_the_rest_is_kept(chains):
    parts = chains({"name": "c", "part": [{"length_m": -5.0, "depth_m": 7.0}, {"lenght_km": 1.0}, 3]},
                   {"name": "d", "part": {"length_km": 1.0}})
    assert parts.mistakes == [
        "c.part[1].length_m = -5.0: must be > 0 and <= 500000. Did you mean 5.0?",
        "c.part[2].lenght_km = 1.0: unknown key. Did you mean length_km?",
        "c.part[3] = 3: must be a table. Write each as [[... .part]]; it holds the parts of the chain.",
        'd.part = {"length_km": 1.0}: must be a list of tables. Write each as [[... .part]]; it holds the parts of the '
        "chain."]
    first, second, third = parts.items[0].table.part
    assert (first.length_km, first.depth_m) == (None, 7.0) and second.length_km is None and third is None
    assert second.model_fields_set == {"length_km"} and parts.items[1].table.part == []


@pytest.mark.parametrize("keys, value, told", [
    ("c.part[2].length_m", 7000.0, None),
    ("c.end.depth_m", 3.0, None),
    ("c.part[3].length_km", 1.0, "override c.part[3].length_km: no such value. Did you mean c.part[1].length_km?"),
    ("c.part.length_km", 1.0, "override c.part.length_km: no such value. Did you mean c.part[1].length_km?"),
    ("c.part[2]", 1.0, "override c.part[2]: no such value."),
    ("c.end[1].depth_m", 1.0, "override c.end[1].depth_m: no such value. Did you mean c.end.depth_m?"),
    ("c.part[2].lenght_km", 1.0, "override c.part[2].lenght_km: no such value. Did you mean c.part[2].length_km?")])
def test_overrides_reach_into_lists(chains, keys, value, told):
    item = {"name": "c", "part": [{"length_km": 1.0}, {"length_nmi": 1.0}]}
    mistake = write(item, Chain, keys.split("."), value)
    assert (mistake is None) if told is None else mistake.startswith(told)
    if keys == "c.part[2].length_m":
        assert item["part"][1] == {"length_m": 7000.0} and chains(item).items[0].table.part[1].length_km == 7.0
