"""The data book: every value once, with origin, grade, basis, and both its own unit and SI."""

import json

import pytest

from sim.case.book.databook import LEFT_OUT
from sim.case.read.overrides import list_values
from sim.components import KINDS, SINGLE
from sim.components.branches.breaker import RACE_ONLY
from sim.components.branches.cable import BUILD
from sim.measures.verdict.grade import find_grade

from ..sample import MACHINE, make, make_driven, parse

CONSTRUCTION = BUILD       # of a cable that is given by constants
OPTIONAL_TABLES = ("section[", "stretch[", "dc_link.", "front_end.", "pulses.", "soft_start.")
# of a drive, where neither compensation, overload curve, search nor restart is asked for
ASKED_FOR = ("compensation_filter_ms", "compensation_max_pct", "overload_pct", "overload_s", "overload_recovery_s",
             "catch_hz_per_s", "catch_voltage_pct", "restarts")
ORIGINS = {"given", "default", "derived"}


def test_entries_are_complete_and_json_able():
    used = parse(make_driven()).used
    assert json.loads(json.dumps(used, allow_nan=False)) == used
    for path, entry in used.items():
        assert set(entry) == {"value", "unit", "value_si", "unit_si", "origin", "grade", "basis"}, path
        assert entry["origin"] in ORIGINS and entry["basis"], path
        assert entry["grade"] in (None, "A", "B", "C", "D"), path


@pytest.mark.parametrize("kind, name", [("study", "study"), ("criteria", "criteria"), ("drive", "host_drive"),
                                        ("cable", "umbilical"), ("breaker", "motor_breaker"),
                                        ("transformer", "subsea_transformer"), ("node", "cable_end"),
                                        ("shunt", "reactor"), ("event", "event[1]")])
def test_every_key_of_a_table_has_its_entry(kind, name):
    used = parse(make_driven()).used
    keys = {key for key in list_values((SINGLE | KINDS)[kind]) if not key.startswith(OPTIONAL_TABLES)}
    keys -= {*LEFT_OUT, *{"cable": CONSTRUCTION, "breaker": RACE_ONLY, "drive": ASKED_FOR}.get(kind, ())}
    assert {path for path in used if path.startswith(f"{name}.")} == {f"{name}.{key}" for key in keys}


def test_given_default_and_derived():
    used = parse(make()).used
    assert used["umbilical.length_km"] == {"value": 28.0, "unit": "km", "value_si": 28000.0, "unit_si": "m",
                                           "origin": "given", "grade": "C", "basis": "case file"}
    zero = used["umbilical.zero_resistance_ohm_per_km"]
    assert (zero["value"], zero["origin"], zero["grade"]) == (1.0, "default", "D")
    assert "4 times" in zero["basis"]
    speed = used["booster.motor.rated_rpm"]
    assert (speed["origin"], speed["grade"]) == ("derived", "C") and "equivalent circuit" in speed["basis"]
    bus = used["motor_terminals.nominal_kv"]
    assert (bus["value"], bus["origin"], bus["basis"]) == (6.6, "derived", "subsea_transformer.to_kv")
    circuit = used["booster.motor.circuit.rotor_resistance_pu"]
    assert (circuit["value"], circuit["unit"], circuit["unit_si"]) == (0.01, "pu", "ohm")


def test_absent_values_and_settings_have_no_grade():
    used = parse(make()).used
    assert used["umbilical.ampacity_a"] == {"value": None, "unit": "A", "value_si": None, "unit_si": "A",
                                            "origin": "default", "grade": None, "basis": "not given"}
    assert used["study.duration_s"]["grade"] is None and used["criteria.flux_max_pu"]["grade"] is None
    assert used["event[2].load_pct"]["grade"] is None


def test_unused_keys_of_a_load_are_left_out():
    used = parse(make(machine=[MACHINE | {"load": {"kind": "compressor"}}])).used
    keys = {path.rpartition(".")[2] for path in used if path.startswith("booster.load.")}
    assert keys == {"kind", "duty_kw", "duty_rpm", "breakaway_pct", "constant_pct", "load_pct"}


def test_grades_of_component_and_of_its_parts():
    data = make()
    data["cable"][0]["grade"] = "A"
    data["machine"][0] = MACHINE | {"grade": "B", "load": {"kind": "pump", "grade": "A"}}
    case = parse(data)
    used = case.used
    assert used["umbilical.length_km"]["grade"] == "A"
    assert used["booster.motor.rated_kw"]["grade"] == "B"
    assert used["booster.shaft.inertia_kgm2"]["grade"] == "B"
    assert used["booster.load.kind"]["grade"] == "A" and used["booster.load.dip_pct"]["grade"] == "D"
    machine = case.machines[0]
    assert (machine.grade, machine.motor.grade, machine.load.grade) == ("B", "B", "A")


def test_worst_grade_on_the_path_is_read_from_it():
    data = make()
    assert find_grade(parse(data)) == "D"
    data["machine"][0]["load"] |= {"duty_kw": 1900.0, "duty_rpm": 1485.0, "breakaway_pct": 20.0,
                                   "dip_pct": 8.0,
                                   "dip_speed_pct": 15.0}
    data["machine"][0]["motor"] |= {"efficiency_pu": 0.95, "power_factor_pu": 0.88}
    data["transformer"][0]["x_over_r"] = data["grid"][0]["x_over_r"] = 12.0
    assert find_grade(parse(data)) == "C"
