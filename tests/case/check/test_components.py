"""Values that contradict or need each other within one component."""

import pytest

from ..sample import DRIVE, MACHINE, SAMPLE, find_mistake, find_mistakes, make, make_driven, parse


def change(kind, **values):
    """Sample with values of the first table of a kind replaced."""
    data = make()
    data[kind][0] |= values
    return data


def change_load(**load):
    return make(machine=[MACHINE | {"load": load}])


def change_circuit(**values):
    circuit = MACHINE["motor"]["circuit"] | values
    circuit = {key: value for key, value in circuit.items() if value is not None}
    return make(machine=[MACHINE | {"motor": MACHINE["motor"] | {"circuit": circuit}}])


def test_waveform_step_must_resolve_the_bandwidth():
    data = make(study={"duration_s": 10.0, "bandwidth_khz": 5.0, "waveform_step_us": 21.0})
    assert find_mistake(data).startswith("study.waveform_step_us = 21.0: must be <= 20 to resolve")
    data["study"]["waveform_step_us"] = 20.0
    assert parse(data).study.waveform_step_s == 20e-6


@pytest.mark.parametrize("values, told", [
    ({"start_hz": 60.0}, "host_drive.start_hz = 60.0: must be <= the target 50 Hz."),
    ({"target_hz": 1.0}, "host_drive.start_hz = 1.5: must be <= the target 1 Hz."),
    ({"target_hz": 120.0}, "host_drive.target_hz = 120.0: must be <= twice frequency_hz = 50.")])
def test_drive_frequencies(values, told):
    if "target_hz" in values and values["target_hz"] < 1.5:
        assert find_mistake(make_driven(drive=[DRIVE | values | {"start_hz": 1.5}])).startswith(told)
    else:
        assert find_mistake(make_driven(drive=[DRIVE | values])).startswith(told)


# Clock numbers that can be wound, IEC 60076-1: Dd and Yy even, Dy and Yd odd.
@pytest.mark.parametrize("group, possible", [
    ("Dyn11", True), ("Dyn1", True), ("YNd11", True), ("Yd5", True), ("YNyn0", True), ("Yy6", True),
    ("Dd0", True), ("Dd10", True), ("Dyn0", False), ("YNd0", False), ("YNyn1", False), ("Dd11", False),
    ("Yy5", False)])
def test_vector_groups(group, possible):
    data = change("transformer", vector_group=group)
    if possible:
        assert parse(data).transformers[0].vector_group == group
    else:
        assert "must have an even clock number between like connections" in find_mistake(data)


@pytest.mark.parametrize("group", ["Dyn12", "dyn11", "Dyn", "DYN11", "Zyn11", "Dyn011", ""])
def test_vector_groups_that_are_none(group):
    assert "Write it like Dyn11." in find_mistake(change("transformer", vector_group=group))


def test_no_load_loss_is_part_of_the_no_load_current():
    data = change("transformer", no_load_current_pct=0.1, no_load_loss_pct=0.2)
    assert find_mistake(data).startswith("subsea_transformer.no_load_loss_pct = 0.2: must be <= "
                                       "no_load_current_pct")


@pytest.mark.parametrize("nf_per_km, sound", [(0.028, True), (0.027, False)])
def test_waves_do_not_outrun_light(nf_per_km, sound):
    # c = 299792458 m/s: with 0.4 mH/km the capacitance must be at least 1/(c^2 L) = 0.02782 uF/km
    data = change("cable", capacitance_uf_per_km=nf_per_km)
    if sound:
        assert parse(data).cables
    else:
        assert "faster than light" in find_mistake(data)


def test_cable_of_no_length():
    assert "shorter than 1 m" in find_mistake(change("cable", length_km=1e-5))


def test_node_levels_ascend():
    mistakes = find_mistakes(make(node=[{"name": "subsea_bus", "nominal_kv": 6.6, "um_kv": 3.6,
                                     "lightning_withstand_kv": 3.0}]))
    assert [mistake.split(" = ")[0] for mistake in mistakes] == ["subsea_bus.um_kv",
                                                          "subsea_bus.lightning_withstand_kv"]


def test_shunt_needs_a_part():
    assert find_mistake(make(shunt=[{"name": "reactor", "node": "cable_end"}])) == (
        "reactor: no part given. Give at least one of resistance_ohm, inductance_mh, capacitance_uf.")


def test_string_needs_two_parts():
    assert find_mistake(change("shunt", connection="series")).startswith(
        'reactor.connection = "series": a string needs two parts or more, only inductance_mh is given.')
    shunt = parse(change("shunt", connection="series", resistance_ohm=10.0)).shunts[0]
    assert (shunt.resistance_ohm, shunt.inductance_h, shunt.capacitance_f) == (10.0, 0.9, None)


def test_wrong_part_still_counts_as_given():
    assert find_mistake(change("shunt", inductance_mh=-1.0)).startswith("reactor.inductance_mh = -1.0:")


def test_circuit_value_missing_twice_or_wrong():
    assert find_mistake(change_circuit(rotor_resistance_pu=None)) == (
        "booster.motor.circuit.rotor_resistance_pu: missing. Add rotor_resistance_pu in pu or "
        "rotor_resistance_ohm in ohm.")
    assert find_mistake(change_circuit(rotor_resistance_ohm=0.2)) == (
        "booster.motor.circuit.rotor_resistance_pu = 0.01: given a second time as rotor_resistance_ohm = "
        "0.2. Keep one of the two.")
    assert find_mistake(change_circuit(rotor_resistance_pu=-0.01)).endswith("Did you mean 0.01?")


def test_second_cage_is_whole_or_absent():
    assert find_mistake(change_circuit(second_rotor_resistance_pu=0.1)).startswith(
        "booster.motor.circuit.second_rotor_reactance_pu: missing.")


@pytest.mark.parametrize("rpm, sound", [(1500.0, False), (1499.0, True), (1200.0, True), (1199.0, False)])
def test_rated_speed_belongs_to_the_poles(rpm, sound):
    data = make(machine=[MACHINE | {"motor": MACHINE["motor"] | {"rated_rpm": rpm}}])
    if sound:
        assert parse(data).machines
    else:
        assert "the synchronous speed 1500 of 4 poles at 50 Hz" in find_mistake(data)


@pytest.mark.parametrize("load, told", [
    ({"speed_pct": [0.0, 100.0]}, ["torque_pct: missing."]),
    ({}, ["speed_pct: missing.", "torque_pct: missing."]),
    ({"speed_pct": [0.0, 100.0], "torque_pct": [10.0]}, ["torque_pct: holds 1 numbers, speed_pct holds 2."]),
    ({"speed_pct": [5.0, 100.0], "torque_pct": [10.0, 100.0]}, ["speed_pct = [5.0, 100.0]: must start at 0"]),
    ({"speed_pct": [0.0], "torque_pct": [10.0]}, ["speed_pct = [0.0]: must start at 0 and hold 2"]),
    ({"speed_pct": [], "torque_pct": []}, ["speed_pct = []: must start at 0 and hold 2"]),
    ({"speed_pct": [0.0, 50.0, 50.0], "torque_pct": [1.0, 2.0, 3.0]},
     ["speed_pct = [0.0, 50.0, 50.0]: must ascend."]),
    ({"speed_pct": [0.0, -5.0], "torque_pct": [1.0, 2.0]},
     ["speed_pct[2] = -5.0: must be >= 0 and <= 300. Did you mean 5.0?"]),
    ({"speed_pct": 3, "torque_pct": [1.0, 2.0]}, ["speed_pct = 3: must be a list of numbers."]),
    ({"speed_pct": [0.0, True], "torque_pct": [1.0, 2.0]}, ["speed_pct[2] = true: must be a number >= 0 and <= 300."])])
def test_torque_table(load, told):
    mistakes = find_mistakes(change_load(kind="table", **load))
    assert len(mistakes) == len(told)
    assert all(mistake.startswith(f"booster.load.{start}") for mistake, start in zip(mistakes, told))


def test_sample_is_sound():
    assert parse(make()).title == SAMPLE["title"]
