"""Wrong values: every mistake is told at once, with the key path, what was given and what to do."""

import copy

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from sim.case.read.messages import suggest
from sim.case.read.overrides import list_values
from sim.case.read.spellings import find_declared as find_canonical
from sim.components import KINDS, SINGLE
from sim.components.declared import list_keys
from sim.components.fields import Table

from ..sample import MACHINE, SWITCHING, find_mistake, find_mistakes, make, make_driven, make_switched

TABLES = {"study": "study", "criteria": "criteria", "node": "subsea_bus", "grid": "host_grid",
          "drive": "host_drive", "transformer": "subsea_transformer", "cable": "umbilical",
          "breaker": "feeder_breaker", "shunt": "reactor", "machine": "booster", "event": "event[1]",
          "shots": "shots", "reactor": "compensator", "arrester": "bus_arrester", "fault": "short",
          "series_reactor": "start_coil", "series_capacitor": "line_bank", "autotransformer": "starter"}


def find_declared(table, path=()):
    """(path, table, field name) of every field of a table and the tables within."""
    for name, field in table.model_fields.items():
        inner = field.annotation
        yield path, table, name
        if isinstance(inner, type) and issubclass(inner, Table):
            yield from find_declared(inner, (*path, name))


def list_fields(wanted):
    """(kind, path within, key) of all fields that `wanted` holds for."""
    return [(kind, path, field.alias or name) for kind, table in (SINGLE | KINDS).items()
            for path, owner, name in find_declared(table)
            if wanted(field := owner.model_fields[name], name)]


def sample_with(kind):
    return make_driven() if kind == "drive" else make_switched() if kind in SWITCHING else make()


def find_table(data, kind, path):
    """The (first) table of a kind in a case, followed to a table within."""
    table = data[kind] if kind in SINGLE else data[kind][0]
    for key in path:
        table = table[key]
    return table


def find_owner(kind, path):
    """Declaration of a table of a kind, followed to a table within."""
    table = (SINGLE | KINDS)[kind]
    for key in path:
        table = table.model_fields[key].annotation
    return table


def address(kind, path, key):
    return ".".join([TABLES[kind], *path, key])


def is_number(field):
    return any(hasattr(part, bound) for part in field.metadata for bound in ("gt", "ge"))


REQUIRED = list_fields(lambda field, name: field.is_required() and name != "name")
NUMBERS = list_fields(lambda field, name: is_number(field))


def test_missing_keys_are_told():
    silent = []
    for kind, path, key in REQUIRED:
        data = sample_with(kind)
        del find_table(data, kind, path)[key]
        here = address(kind, path, key)
        if not any(mistake.startswith(f"{here}: missing.") for mistake in find_mistakes(data)):
            silent.append(here)
    assert len(REQUIRED) > 30 and silent == []


def test_missing_names_are_told():
    silent = []
    for kind in set(KINDS) - {"event"}:
        data = sample_with(kind)
        del data[kind][0]["name"]
        if not any(mistake.startswith(f"{kind}[1].name: missing.") for mistake in find_mistakes(data)):
            silent.append(kind)
    assert silent == []


@pytest.mark.parametrize("value, shown", [
    (float("nan"), "nan"), (float("inf"), "inf"), (True, "true"), ("12", '"12"'), ([1.0], "[1.0]"),
    (-1e12, "-1000000000000.0"), (1e12, "1000000000000.0")])
@pytest.mark.parametrize("kind", SINGLE | KINDS)
def test_numbers_that_are_none_or_out_of_range_are_told(kind, value, shown):
    """All numbers of a table at once: each is told once, with what to do."""
    keys, data = [(path, key) for other, path, key in NUMBERS if other == kind], sample_with(kind)
    for path, key in keys:
        find_table(data, kind, path)[key] = value
    told = find_mistakes(data) if keys else []
    for path, key in keys:
        here = address(kind, path, key)
        mistakes = [mistake for mistake in told if mistake.startswith(f"{here} = {shown}: ")]
        assert len(mistakes) == 1, here
        assert any(phrase in mistakes[0] for phrase in ("Give the ", "Did you mean ", "is too large")), here


LENGTH = "must be > 0 and <= 500. "


@pytest.mark.parametrize("key, value, told", [
    ("length_km", -3, f" = -3: {LENGTH}Did you mean 3?"),
    ("length_km", 28000, f" = 28000: {LENGTH}If that is in m, write 28. Give the length of the cable in km."),
    ("length_km", "28 km",
     ' = "28 km": must be a number > 0 and <= 500. Give the length of the cable in km.'),
    ("ampacity_a", 0,
     " = 0: must be >= 1 and <= 10000. Give the current the installed cable may carry in A."),
    ("grade", "E", ' = "E": must be one of "A", "B", "C", "D". Give the grade of the given data: A measured, '
                   "B guaranteed, C typical, D assumed."),
    ("from", "cable head", ' = "cable head": must start with a letter and hold letters, digits, _ and - '
                           "only, 64 at most. Give the node of the near end.")])
def test_wording(key, value, told):
    data = make()
    data["cable"][0][key] = value
    assert find_mistake(data) == f"umbilical.{key}{told}"


def test_flags_and_choices_are_not_numbers():
    data = make()
    data["breaker"][0]["closed"] = 1
    data["machine"][0]["load"]["kind"] = "pmup"
    data["machine"][0]["motor"]["poles"] = 4.0
    data["transformer"][0]["vector_group"] = "DYN11"
    transformer, breaker, poles, kind = find_mistakes(data)
    assert transformer == (
        'subsea_transformer.vector_group = "DYN11": must be the letters of the first winding (D, Y, YN), of '
        "the second (d, y, yn) and a clock number 0 to 11. Write it like Dyn11.")
    assert breaker == ("feeder_breaker.closed = 1: must be true or false. Give the position at the start of "
                       "the run, true when closed.")
    assert poles == ("booster.motor.poles = 4.0: must be a whole number >= 2 and <= 48. Give the number of "
                     "poles.")
    assert kind == ('booster.load.kind = "pmup": must be one of "pump", "compressor", "table", "none". Did '
                    'you mean "pump"?')


def test_odd_pole_number():
    data = make()
    data["machine"][0]["motor"]["poles"] = 5
    assert find_mistake(data).startswith("booster.motor.poles = 5: must be a multiple of 2.")


ALL_KEYS = [(kind, path, key) for kind, path, key in list_fields(lambda field, name: True)
            if len(key) > 4 and (kind, path + (key,)) != ("machine", ("motor", "circuit"))]


@settings(max_examples=150, deadline=None, derandomize=True)
@given(st.sampled_from(ALL_KEYS), st.data())
def test_misspelt_key_gets_a_suggestion(place, draw):
    kind, path, key = place
    gone = draw.draw(st.integers(1, len(key) - 1))
    typo = key[:gone] + key[gone + 1:]
    data = sample_with(kind)
    table = find_table(data, kind, path)
    assume(find_canonical(find_owner(kind, path), typo) is None)    # "grade" and "length_m" are keys themselves
    value = table.pop(key, 1)
    table[typo] = copy.deepcopy(value)
    mistakes = [mistake for mistake in find_mistakes(data) if mistake.startswith(f"{address(kind, path, typo)} = ")]
    assert len(mistakes) == 1
    assert "unknown key. Did you mean " in mistakes[0]
    assert not any(f"{address(kind, path, key)}: missing" in mistake for mistake in find_mistakes(data))


def test_key_that_resembles_nothing_lists_what_is_known():
    data = make()
    data["breaker"][0]["zzzz"] = 1
    mistake = find_mistake(data)
    assert mistake.startswith("feeder_breaker.zzzz = 1: unknown key. Known keys: ")
    assert mistake.endswith(f"{', '.join(list_keys(KINDS['breaker']))}.")


def test_key_in_the_wrong_table_is_sent_to_the_right_one():
    data = make()
    data["machine"][0]["dip_speed_pct"] = 15.0
    assert find_mistake(data).endswith("unknown key. It belongs to the table load within.")


def test_unknown_tables_get_a_suggestion():
    data = make()
    data["machines"] = data.pop("machine")
    data["criterion"] = {}
    mistakes = find_mistakes(data)
    assert "machines: unknown table. Did you mean [[machine]]?" in mistakes
    assert "criterion: unknown table. Did you mean [criteria]?" in mistakes


def test_tables_of_the_wrong_shape():
    data = make(study=[{"duration_s": 10.0}], shunt={"name": "reactor"}, grid=3, title=5, criteria=2)
    mistakes = " | ".join(find_mistakes(data))
    assert "must be one table. Write it as [study]." in mistakes
    assert "criteria = 2: must be one table. Write it as [criteria]." in mistakes
    assert "must be a list of tables. Write each as [[shunt]]." in mistakes
    assert "grid = 3: must be a list of tables. Write each as [[grid]]." in mistakes
    assert "title = 5: must be text in quotes. Give the title of the case." in mistakes


def test_inner_table_of_the_wrong_shape():
    assert "booster.shaft = 90: must be a table." in find_mistake(make(machine=[MACHINE | {"shaft": 90}]))


def test_many_mistakes_at_once():
    data = make()
    data["cable"][0]["length_km"] = -3
    data["cable"][0]["inductence_mh_per_km"] = 0.4
    data["grid"][0]["rated_kv"] = "33"
    del data["machine"][0]["load"]["kind"]
    data["machine"][0]["motor"]["circuit"]["rotor_resistance_ohm"] = 0.2
    data["event"][0]["target"] = "feeder_braker"
    data["event"][1]["at_s"] = 11.0
    data["study"]["tolerance"] = 1e-4
    starts = ["study.tolerance = 0.0001", "host_grid.rated_kv", "umbilical.length_km",
              "umbilical.inductence_mh_per_km",
              "booster.load.kind", "event[1].target", "event[2].at_s",
              "booster.motor.circuit.rotor_resistance_pu"]
    mistakes = find_mistakes(data)
    assert len(mistakes) == len(starts)
    assert all(any(mistake.startswith(start) for mistake in mistakes) for start in starts)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.lists(st.sampled_from(NUMBERS), min_size=2, max_size=8, unique=True))
def test_number_of_mistakes_is_at_least_the_number_of_bad_values(places):
    data = make_driven(**SWITCHING)
    places = [place for place in places if place[0] != "grid"]
    for kind, path, key in places:
        find_table(data, kind, path)[key] = "x"
    told = find_mistakes(data) if places else []
    assert all(any(mistake.startswith(f"{address(*place)} = ") for mistake in told) for place in places)


def test_suggestions_ignore_case_and_refuse_the_far():
    assert suggest("LENGTH_KM", ["length_km", "name"]) == "length_km"
    assert suggest("wind", ["length_km"]) is None


def test_values_of_a_table_are_listed_with_their_path():
    values = list_values(KINDS["machine"])
    assert "motor.circuit.rotor_resistance_pu" in values and "motor" not in values
    keys = list_keys(KINDS["cable"])
    assert "from" in keys and "from_node" not in keys and keys.index("from") + 1 == keys.index("to")
