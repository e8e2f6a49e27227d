"""The records of a checked case: SI values under SI names, derived values, order and islands."""

import dataclasses
import hashlib
import pickle

import pytest
from scipy import constants

from sim.case import CheckedCase, load_case, parse_case
from sim.units import Record

from ..sample import MACHINE, make, make_driven, parse, write

LOAD_KEYS = {"kind", "duty_torque_nm", "duty_speed_rad_per_s", "breakaway_pu", "dip_pu", "dip_speed_pu",
             "constant_pu", "speed_pu", "torque_pu", "load_pu"}


def make_with_load(**load):
    return make(machine=[MACHINE | {"load": load}])


def make_with_motor(**motor):
    return make(machine=[MACHINE | {"motor": MACHINE["motor"] | motor}])


def test_cable_in_si():
    cable = parse(make()).cables[0]
    assert (cable.name, cable.from_node, cable.to_node) == ("umbilical", "cable_head", "cable_end")
    assert cable.length_m == 28000.0 and cable.joints == []
    (section,) = cable.sections
    assert section.length_m == 28000.0
    assert section.positive.resistance_ohm_per_m == pytest.approx(0.25e-3, rel=1e-15)      # one rounding
    assert section.positive.inductance_h_per_m == pytest.approx(0.4e-6, rel=1e-15)
    assert section.positive.capacitance_f_per_m == pytest.approx(0.2e-9, rel=1e-15)
    assert section.positive.branch_resistance_ohm_per_m == ()


def test_zero_sequence_defaults_of_a_cable():
    (section,) = parse(make()).cables[0].sections
    zero, positive = section.zero, section.positive
    assert zero.resistance_ohm_per_m == 4.0 * positive.resistance_ohm_per_m
    assert zero.inductance_h_per_m == pytest.approx(3.0 * positive.inductance_h_per_m, rel=1e-15)
    assert zero.capacitance_f_per_m == positive.capacitance_f_per_m


def test_given_zero_sequence_is_kept():
    data = make()
    data["cable"][0]["zero_resistance_ohm_per_km"] = 1.5
    assert parse(data).cables[0].sections[0].zero.resistance_ohm_per_m == 1.5e-3


def test_circuit_is_in_ohm_whatever_it_was_given_in():
    per_unit = parse(make()).machines[0].motor
    base = 6600.0**2 / (2.0e6 / (0.95 * 0.88))          # definition of the motor's base impedance
    circuit = MACHINE["motor"]["circuit"]
    in_ohm = {key.replace("_pu", "_ohm"): value * base for key, value in circuit.items()}
    given = parse(make_with_motor(circuit=in_ohm)).machines[0].motor
    for name in in_ohm:     # a product and a quotient: a few roundings
        assert getattr(given.circuit, name) == pytest.approx(getattr(per_unit.circuit, name), rel=1e-14)
    assert per_unit.circuit.rotor_resistance_ohm == pytest.approx(0.01 * base, rel=1e-14)
    assert per_unit.circuit.second_rotor_resistance_ohm is None


def test_second_cage_in_mixed_units():
    circuit = MACHINE["motor"]["circuit"] | {"second_rotor_resistance_ohm": 0.8,
                                             "second_rotor_reactance_pu": 0.1}
    found = parse(make(machine=[MACHINE | {"motor": MACHINE["motor"] | {"circuit": circuit}}])).machines[0]
    assert found.motor.circuit.second_rotor_resistance_ohm == 0.8
    assert found.motor.circuit.second_rotor_reactance_ohm == pytest.approx(0.1 * 6600.0**2 / (2e6 / 0.836))


def test_motor_ratings():
    motor = parse(make_with_motor(rated_rpm=1485.0)).machines[0].motor
    assert motor.rated_speed_rad_per_s == pytest.approx(1485.0 * 2.0 * constants.pi / 60.0)
    assert motor.rated_torque_nm == pytest.approx(2.0e6 / motor.rated_speed_rad_per_s)
    assert motor.rated_current_a == pytest.approx(2.0e6 / (0.95 * 0.88 * 3**0.5 * 6600.0))
    assert motor.poles == 4 and motor.winding_f == 10e-9


@pytest.mark.parametrize("kind, expected", [
    ("pump", {"breakaway_pu": 0.15, "dip_pu": 0.08, "dip_speed_pu": 0.15, "constant_pu": 0.0}),
    ("compressor", {"breakaway_pu": 0.05, "dip_pu": 0.0, "dip_speed_pu": 0.0, "constant_pu": 0.1}),
    ("none", {"breakaway_pu": 0.0, "dip_pu": 0.0, "dip_speed_pu": 0.0, "constant_pu": 0.0})])
def test_load_defaults_by_kind(kind, expected):
    machine = parse(make_with_load(kind=kind)).machines[0]
    assert LOAD_KEYS <= set(vars(machine.load))
    assert {key: getattr(machine.load, key) for key in expected} == expected
    assert machine.load.speed_pu == machine.load.torque_pu == []
    assert machine.load.duty_torque_nm == pytest.approx(machine.motor.rated_torque_nm)
    assert machine.load.duty_speed_rad_per_s == machine.motor.rated_speed_rad_per_s


def test_load_table_and_duty_point():
    load = parse(make_with_load(kind="table", speed_pct=[0, 50, 100.0], torque_pct=[20.0, 40.0, 100.0],
                                duty_kw=1500.0, duty_rpm=1480.0, load_pct=90.0)).machines[0].load
    assert load.speed_pu == [0.0, 0.5, 1.0] and load.torque_pu == [0.2, 0.4, 1.0]
    assert load.duty_torque_nm == pytest.approx(1500e3 / (1480.0 * constants.pi / 30.0))
    assert load.load_pu == 0.9 and load.breakaway_pu == 0.0


def test_drive_target_defaults_to_rated_frequency():
    drive = parse(make_driven()).drives[0]
    assert (drive.target_hz, drive.frequency_hz) == (50.0, 50.0)
    assert (drive.boost_pu, drive.current_limit_pu) == (0.0, 1.1)
    assert drive.rated_va == 3.0e6 and drive.current_filter_s == 0.02


def test_nodes_stand_in_the_order_of_the_chain():
    case = parse(make())
    assert [node.name for node in case.nodes] == ["host_bus", "cable_head", "cable_end", "subsea_bus",
                                                  "motor_terminals"]
    assert [node.nominal_v for node in case.nodes] == [33e3, 33e3, 33e3, 6600.0, 6600.0]
    assert {(node.island, node.frequency_hz) for node in case.nodes} == {(0, 50.0)}
    bus = case.nodes[3]
    assert (bus.um_v, bus.lightning_withstand_v, bus.stray_f) == (7200.0, None, 1e-9)


def test_islands_keep_their_own_frequency():
    data = make()
    data["drive"] = [{"name": "subsea_drive", "node": "drive_bus", "rated_kv": 6.6, "rated_kva": 3000.0,
                      "frequency_hz": 60.0}]
    data["machine"] = [MACHINE, MACHINE | {"name": "second", "node": "drive_bus"}]
    case = parse(data)
    places = {node.name: (node.island, node.frequency_hz) for node in case.nodes}
    assert places["host_bus"] == places["motor_terminals"] == (0, 50.0)
    assert places["drive_bus"] == (1, 60.0)


def test_given_nominal_voltage_of_a_node_wins():
    data = make(node=[{"name": "motor_terminals", "nominal_kv": 6.3}])
    nodes = {node.name: node.nominal_v for node in parse(data).nodes}
    assert nodes["motor_terminals"] == nodes["subsea_bus"] == 6300.0


def test_events_and_criteria():
    case = parse(make())
    assert case.events[1] == Record(at_s=5.0, action="load", target="booster", to_hz=None, load_pu=0.8)
    assert case.criteria.motor_voltage_min_pct == 80.0 and case.criteria.time_to_speed_max_s == 8.0
    assert case.study.bandwidth_hz is None and case.study.waveform_step_s is None and case.study.band_factor == 1.0


def test_name_text_and_hash(tmp_path):
    text = write(make())
    path = tmp_path / "some_case.toml"
    path.write_text(text)
    case = load_case(path, ["umbilical.length_km=40"])
    assert (case.name, case.text, case.title) == ("some_case", text, "Sample")
    assert case.overrides == ("umbilical.length_km=40",)
    assert case.sha256 == hashlib.sha256(f"{text}\numbilical.length_km=40".encode()).hexdigest()
    assert parse_case(text).sha256 == hashlib.sha256(text.encode()).hexdigest()


def test_title_defaults_to_the_name():
    assert parse_case(write(make(title=None)), name="night_run").title == "night_run"


def test_case_is_frozen_and_survives_pickling():
    case = parse(make())
    with pytest.raises(dataclasses.FrozenInstanceError):
        case.title = "other"
    assert isinstance(case, CheckedCase) and pickle.loads(pickle.dumps(case)) == case
