"""Overrides go by component name, in the units of the file, and are told apart from what the file gives."""

import pytest

from ..sample import MACHINE, find_mistake, find_mistakes, make, make_driven, parse


def test_values_are_replaced():
    case = parse(make(), "umbilical.length_km=40", "booster.motor.rated_kw = 2500",
                 "booster.load.breakaway_pct=50",
                 "study.duration_s=30", "criteria.marginal_band_pct=5", "feeder_breaker.closed=true",
                 "subsea_transformer.vector_group=YNd11", 'umbilical.grade="B"', "title=Other")
    assert case.cables[0].length_m == 40e3 and case.cables[0].grade == "B"
    assert case.machines[0].motor.rated_w == 2.5e6 and case.machines[0].load.breakaway_pu == 0.5
    assert case.study.duration_s == 30.0 and case.criteria.marginal_band_pct == 5.0
    assert case.breakers[0].closed is True and case.transformers[0].vector_group == "YNd11"
    assert case.title == "Other"


def test_the_last_of_two_wins():
    assert parse(make(), "umbilical.length_km=40", "umbilical.length_km=41").cables[0].length_m == 41e3


def test_list_value():
    load = {"kind": "table", "speed_pct": [0.0, 100.0], "torque_pct": [10.0, 100.0]}
    case = parse(make(machine=[MACHINE | {"load": load}]), "booster.load.torque_pct=[20, 90]")
    assert case.machines[0].load.torque_pu == [0.2, 0.9]


def test_default_and_missing_key_can_be_set():
    data = make()
    del data["cable"][0]["length_km"]
    case = parse(data, "umbilical.length_km=12", "umbilical.ampacity_a=300")
    assert case.cables[0].length_m == 12e3 and case.cables[0].ampacity_a == 300.0


def test_node_without_a_table_can_be_set():
    nodes = {node.name: node for node in parse(make(), "cable_end.um_kv=36").nodes}
    assert nodes["cable_end"].um_v == 36e3


def test_other_unit_of_a_circuit_value_replaces_the_first():
    circuit = parse(make(), "booster.motor.circuit.rotor_resistance_ohm=0.2").machines[0].motor.circuit
    assert circuit.rotor_resistance_ohm == 0.2


@pytest.mark.parametrize("override, told", [
    ("umbilcal.length_km=40", "override umbilcal.length_km: nothing is called umbilcal. Did you mean "
     "umbilical?"),
    ("umbilical.lenght_km=40", "override umbilical.lenght_km: no such value. Did you mean "
     "umbilical.length_km?"),
    ("booster.motr.rated_kw=1",
     "override booster.motr.rated_kw: no such value. Did you mean booster.motor.rated_kw?"),
    ("booster.rated_kw=1", "override booster.rated_kw: no such value. Did you mean booster.motor.rated_kw?"),
    ("umbilical=1", "override umbilical: no such value. Did you mean umbilical."),
    ("booster.motor=1", "override booster.motor: no such value. Did you mean booster."),
    ("umbilical.length_km", "override umbilical.length_km: no value. Write it as KEY=VALUE"),
    ("umbilical.length_km.x=1", "override umbilical.length_km.x: no such value. Did you mean "
     "umbilical.length_km?"),
    ("study.durations=3", "override study.durations: no such value. Did you mean study.duration_s?"),
    ("=3", "override : nothing is called ."), ("xyzzy.q=1", "override xyzzy.q: nothing is called xyzzy. "
                                               "Known names:")])
def test_unknown_path(override, told):
    assert find_mistake(make(), override).startswith(told)


@pytest.mark.parametrize("override, told", [
    ("umbilical.length_km=-3", "umbilical.length_km = -3: must be > 0 and <= 500. Did you mean 3?"),
    ("umbilical.length_km=forty", 'umbilical.length_km = "forty": must be a number > 0 and <= 500.'),
    ("umbilical.length_km=", 'umbilical.length_km = "": must be a number'),
    ("umbilical.length_km=1\nname=2", 'umbilical.length_km = "1\\nname=2": must be a number'),
    ("study.engine=fast", 'study.engine = "fast": must be one of "auto", "envelope", "waveform".')])
def test_wrong_value_is_told_as_any_other(override, told):
    assert find_mistake(make(), override).startswith(told)


def test_mistakes_of_overrides_and_file_come_together():
    data = make()
    data["cable"][0]["length_km"] = -3
    assert len(find_mistakes(data, "x.y=1", "booster.motor.poles=3")) == 3


def test_origin_is_noted():
    used = parse(make_driven(), "umbilical.length_km=40",
                 "booster.motor.circuit.rotor_resistance_pu=0.02").used
    assert used["umbilical.length_km"]["basis"] == "override"
    assert used["booster.motor.circuit.rotor_resistance_pu"]["basis"] == "override"
    assert used["umbilical.resistance_ohm_per_km"]["basis"] == "case file"
