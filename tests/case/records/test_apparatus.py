"""Records of switching: SI values under SI names, what is derived, and cables cut where a fault lies."""

import numpy as np
import pytest

from sim.case.records.cable_joints import cut_sections
from sim.params.voltage_classes import LIGHTNING_WITHSTAND_KV
from sim.units import Record

from ..sample import MACHINE, SAMPLE, SWITCHING, make, make_driven, make_switched, parse

FAULT = SWITCHING["fault"][0]
POLES = {"closing_delays_ms": [0.0, 1.0, 2.5], "opening_delays_ms": [0, 2, 4], "closing_angle_deg": 90.0,
         "scatter_ms": 3.0, "insertion_ohm": 400.0, "insertion_ms": 12.0, "chopping_a": 4.0, "recovery_start_kv": 2.0,
         "recovery_rise_kv_per_ms": 20.0, "recovery_most_kv": 60.0, "quench_a_per_us": 300.0, "rated_kv": 36.0}


def read_joints(*faults, sections=None):
    """The umbilical of the sample with faults, and the case."""
    cable = dict(SAMPLE["cable"][0])
    if sections:
        del cable["length_km"]
        cable["section"] = [{"length_km": length} for length in sections]
    case = parse(make(cable=[cable], fault=list(faults)))
    return case.cables[0], case


def test_breaker_in_si():
    data = make()
    data["breaker"][0] |= POLES
    breaker = parse(data).breakers[0]
    found = {key: value for key, value in vars(breaker).items() if key not in (
        "name", "from_node", "to_node", "closed", "grade", "contact_resistance_ohm", "soft_start")}
    # units by their definition; delays within one rounding of a division
    assert found.pop("closing_delays_s") == pytest.approx([0.0, 1e-3, 2.5e-3], rel=1e-15)
    assert found.pop("opening_delays_s") == pytest.approx([0.0, 2e-3, 4e-3], rel=1e-15)
    assert found == pytest.approx({
        "closing_angle_rad": np.pi / 2.0, "scatter_s": 3e-3, "insertion_ohm": 400.0, "insertion_s": 12e-3,
        "chopping_a": 4.0, "recovery_start_v": 2e3, "recovery_rise_v_per_s": 20e6, "recovery_most_v": 60e3,
        "quench_a_per_s": 300e6, "rated_v": 36e3}, rel=1e-15)


def test_breaker_without_a_word():
    breaker = vars(parse(make()).breakers[0])
    assert breaker["closing_delays_s"] == breaker["opening_delays_s"] == [0.0, 0.0, 0.0]
    assert [key for key, value in breaker.items() if value is None] == [
        "closing_angle_rad", "insertion_ohm", "insertion_s", "recovery_rise_v_per_s", "soft_start"]
    assert (breaker["scatter_s"], breaker["chopping_a"], breaker["recovery_start_v"]) == (5e-3, 0.0, 0.0)
    assert breaker["quench_a_per_s"] == 600e6
    # IEC 60071-1 (from memory, to be checked): class 24 kV or whichever is the breaker's
    assert breaker["recovery_most_v"] == 1e3 * LIGHTNING_WITHSTAND_KV[breaker["rated_v"] / 1e3]


@pytest.mark.parametrize("nodes, rated", [
    ({}, 7.2e3), ({"subsea_bus": 8.0}, 8e3), ({"motor_terminals": 12.0}, 12e3),
    ({"subsea_bus": 8.0, "motor_terminals": 12.0}, 8e3)])
def test_rated_voltage_of_a_breaker_by_its_nodes(nodes, rated):
    case = parse(make(node=[{"name": name, "um_kv": um} for name, um in nodes.items()]))
    assert case.breakers[1].rated_v == rated and case.breakers[0].rated_v == 36e3
    assert case.used["motor_breaker.rated_kv"]["origin"] == "derived"


def test_race_is_in_the_data_book_where_it_is_on():
    data = make()
    data["breaker"][0] |= {"recovery_rise_kv_per_ms": 20.0}
    used = parse(data).used
    assert used["feeder_breaker.quench_a_per_us"]["value_si"] == 600e6
    assert "motor_breaker.quench_a_per_us" not in used


def test_other_tables_in_si():
    data = make()
    data["transformer"][0] |= {"core": "three_limb", "remanence_pu": [0.8, -0.8, 0], "to_neutral_resistance_ohm": 20.0}
    data["grid"][0] |= {"neutral_resistance_ohm": 5.0, "neutral_reactance_ohm": 2.0}
    data["cable"][0]["trapped_pu"] = [1.0, -1.0, 0]
    data["machine"] = [MACHINE | {"motor": MACHINE["motor"] | {"knee_pu": 1.2, "saturated_pct": 25.0}}]
    case = parse(data)
    transformer, grid, motor = case.transformers[0], case.grids[0], case.machines[0].motor
    assert (transformer.core, transformer.remanence_pu) == ("three_limb", [0.8, -0.8, 0.0])
    assert (transformer.zero_magnetising_pu, transformer.to_neutral_resistance_ohm) == (0.6, 20.0)
    assert (transformer.from_neutral_resistance_ohm, transformer.to_neutral_reactance_ohm) == (0.0, 0.0)
    assert (grid.neutral_resistance_ohm, grid.neutral_reactance_ohm) == (5.0, 2.0)
    assert case.cables[0].trapped_pu == [1.0, -1.0, 0.0]
    assert (motor.knees_pu, motor.added_pu) == ([1.2], [3.0])


def test_bank_in_si():
    data = make()
    data["transformer"][0] |= {"core": "bank", "no_load_current_pct": 0.5, "no_load_loss_pct": 0.3}
    case = parse(data)
    assert case.transformers[0].zero_magnetising_pu == pytest.approx(250.0, rel=1e-12)      # 1/0.4 %, 3-4-5
    entry = case.used["subsea_transformer.zero_magnetising_pct"]
    assert (entry["origin"], entry["grade"]) == ("derived", "C")


def test_motor_and_cable_without_a_word():
    case = parse(make())
    motor = case.machines[0].motor
    assert (motor.knees_pu, motor.added_pu, motor.no_load_curve) == ([1.15], [4.0], [])
    assert case.cables[0].trapped_pu == case.transformers[0].remanence_pu == [0.0, 0.0, 0.0]
    assert (case.reactors, case.arresters, case.faults, case.shots) == ([], [], [], None)


def test_reactor():
    case = parse(make_switched())
    reactor = case.reactors[0]
    z = reactor.resistance_ohm + 2j * np.pi * 50.0 * reactor.inductance_h
    power = 33e3**2 / np.conj(z)        # three phases in star
    assert power.imag == pytest.approx(2e6, rel=1e-12) and z.imag / z.real == pytest.approx(300.0, rel=1e-12)
    assert (reactor.rated_var, reactor.rated_v, reactor.frequency_hz) == (2e6, 33e3, 50.0)
    assert (reactor.knee_pu, reactor.saturated_pu, reactor.earthed) == (None, 0.3, True)
    assert case.used["compensator.inductance_mh"]["value_si"] == pytest.approx(reactor.inductance_h, rel=1e-15)
    assert "compensator.saturated_pct" not in case.used


def test_reactor_at_the_frequency_of_its_island():
    reactor = parse(make_driven(drive=[{"name": "d", "node": "host_bus", "rated_kv": 33.0, "rated_kva": 3e3,
                                        "frequency_hz": 60.0}], machine=None, event=None, shunt=None,
                                node=[{"name": "motor_terminals"}],
                                reactor=SWITCHING["reactor"])).reactors[0]
    assert reactor.frequency_hz == 60.0
    assert reactor.inductance_h == pytest.approx(33e3**2 / 2e6 / (120.0 * np.pi), rel=2e-5)     # 1 + 1/q^2 left out


def test_arrester_without_a_curve():
    arrester = parse(make_switched()).arresters[0]
    found = arrester.rated_v, arrester.continuous_v, arrester.residual_v
    assert found == pytest.approx((9e3, 7.2e3, 22.05e3), rel=1e-12)
    assert arrester.curve_a[0] == 0.0 and arrester.energy_j is None
    # the residual voltage is that at 10 kA: by its definition in IEC 60099-4
    assert np.interp(10e3, arrester.curve_a, arrester.curve_v) == pytest.approx(22.05e3, rel=1e-12)
    assert not hasattr(arrester, "energy_j_per_v")


def test_arrester_with_curve_and_energy():
    given = {"curve_a": [1, 1e3, 1e4], "curve_kv": [16.0, 18.6, 22.0], "energy_kj_per_kv": 5.0, "continuous_kv": 7.5}
    case = parse(make_switched(arrester=[SWITCHING["arrester"][0] | given]))
    arrester = case.arresters[0]
    for current, volts in zip([1.0, 1e3, 1e4], [16e3, 18.6e3, 22e3]):
        assert np.interp(current, arrester.curve_a, arrester.curve_v) == pytest.approx(volts, rel=1e-12)
    found = arrester.residual_v, arrester.continuous_v, arrester.energy_j
    assert found == pytest.approx((22e3, 7.5e3, 45e3), rel=1e-12)
    entry = case.used["bus_arrester.residual_kv"]
    assert (entry["origin"], entry["grade"], entry["basis"]) == ("derived", "C", "the curve at 10 kA")
    assert case.used["bus_arrester.energy_kj"]["value_si"] == 45e3


def test_fault_at_a_node():
    fault = {"name": "short", "node": "cable_end", "at_s": 2.0, "phases": "ab", "earth": False, "resistance_ohm": 0.5,
             "clear_s": 2.1}
    case = parse(make(fault=[fault]))
    assert case.faults == [Record(name="short", node="cable_end", phases="ab", earth=False, resistance_ohm=0.5,
                                  earth_resistance_ohm=0.0, at_s=2.0, clear_s=2.1)]
    assert case.cables[0].joints == [] and case.nodes == parse(make()).nodes


def test_solid_fault_has_a_milliohm():
    assert parse(make_switched()).faults[0].resistance_ohm == 1e-3


def test_fault_and_shots_carry_no_grade():
    used = parse(make_switched()).used
    entries = [entry for path, entry in used.items() if path.startswith(("short.", "shots."))]
    assert len(entries) == 16 and {entry["grade"] for entry in entries} == {None}
    assert used["short.node"]["origin"] == used["shots.at_s"]["origin"] == "derived"


def test_shots():
    assert parse(make_switched()).shots == Record(
        breaker="feeder_breaker", at_s=0.5, seed=1, spread_s=0.02, observe_s=0.06, trapped_most_pu=0.0,
        trapped_cables=[])
    given = {"breaker": "feeder_breaker", "at_s": 0.2, "seed": 9, "spread_ms": 5.0, "observe_ms": 80.0,
             "trapped_most_pu": 1.0, "trapped_cables": ["umbilical"]}
    assert parse(make_switched(shots=given)).shots == Record(
        breaker="feeder_breaker", at_s=0.2, seed=9, spread_s=5e-3, observe_s=0.08, trapped_most_pu=1.0,
        trapped_cables=["umbilical"])


def test_first_order_to_close_counts_and_the_period_is_that_of_the_island():
    events = [{"at_s": at, "action": action, "target": "feeder_breaker"}
              for at, action in ((3.0, "close"), (2.0, "open"), (1.0, "close"))]
    shots = parse(make_driven(event=events, shots={"breaker": "feeder_breaker"}, drive=[
        {"name": "d", "node": "host_bus", "rated_kv": 33.0, "rated_kva": 3e3, "frequency_hz": 60.0}],
        machine=[MACHINE | {"motor": MACHINE["motor"] | {"frequency_hz": 60.0}}])).shots
    assert shots.at_s == 1.0 and shots.spread_s == pytest.approx(1.0 / 60.0, rel=1e-12)


def test_fault_cuts_the_cable_it_lies_on():
    cable, case = read_joints(FAULT)
    assert cable.joints == ["umbilical.short"] and cable.length_m == 28e3
    assert [section.length_m for section in cable.sections] == [10e3, 18e3]
    whole = parse(make()).cables[0].sections[0]
    assert all((section.positive, section.zero) == (whole.positive, whole.zero) for section in cable.sections)
    assert case.faults[0].node == "umbilical.short"
    node, near = case.nodes[-1], next(node for node in case.nodes if node.name == "cable_head")
    assert vars(node) == vars(near) | {"name": "umbilical.short", "stray_f": 0.0}
    assert case.used["umbilical.length_km"]["value"] == 28.0


@pytest.mark.parametrize("places, sections, joints, lengths", [
    ([10.0], [8.0, 20.0], ["joint_1", "f0"], [8.0, 2.0, 18.0]),
    ([2.0], [8.0, 20.0], ["f0", "joint_1"], [2.0, 6.0, 20.0]),
    ([20.0, 5.0], None, ["f1", "f0"], [5.0, 15.0, 8.0]),
    ([10.0, 10.0], None, ["f0"], [10.0, 18.0]),
    ([8.0], [8.0, 20.0], ["joint_1"], [8.0, 20.0]),
    ([8.0004], [8.0, 20.0], ["joint_1"], [8.0, 20.0]),
    ([4.0, 8.0, 12.0], [8.0, 20.0], ["f0", "joint_1", "f2"], [4.0, 4.0, 4.0, 16.0])])
def test_faults_and_joints_of_one_cable(places, sections, joints, lengths):
    faults = [FAULT | {"name": f"f{k}", "at_km": km} for k, km in enumerate(places)]
    cable, case = read_joints(*faults, sections=sections)
    assert cable.joints == [f"umbilical.{name}" for name in joints]
    assert [section.length_m for section in cable.sections] == pytest.approx([1e3 * km for km in lengths], rel=1e-12)
    assert [node.name for node in case.nodes[-len(joints):]] == cable.joints
    assert {fault.node for fault in case.faults} <= set(cable.joints)


def test_fault_lies_in_the_section_at_its_place():
    cable = SAMPLE["cable"][0] | {"section": [{"length_km": 8.0}, {"length_km": 20.0, "resistance_ohm_per_km": 0.3}]}
    del cable["length_km"]
    sections = parse(make(cable=[cable], fault=[FAULT])).cables[0].sections
    assert [section.positive.resistance_ohm_per_m for section in sections] == pytest.approx([2.5e-4, 3e-4, 3e-4])


@pytest.mark.parametrize("cuts", [[10.0], [1.0, 2.0, 27.0]])
def test_pieces_in_series_are_the_cable(cuts):
    # chain matrices of uniform lines multiply (any textbook on transmission lines); rounding of a few products
    s = 2j * np.pi * np.array([50.0, 1e3, 5e3])
    whole = parse(make()).cables[0].sections
    pieces = cut_sections(whole, [Record(node=f"n{km}", km=km) for km in cuts])
    product = chain(s, pieces[0])
    for piece in pieces[1:]:
        product = product @ chain(s, piece)
    assert np.allclose(product, chain(s, whole[0]), rtol=1e-9, atol=0.0)


def chain(s, section):
    """Chain matrices of a section: voltage and current at the near end from those at the far end, shape (n, 2, 2)."""
    line = section.positive
    z = s * line.inductance_h_per_m + line.resistance_ohm_per_m
    y = s * line.capacitance_f_per_m
    gamma, surge = np.sqrt(z * y) * section.length_m, np.sqrt(z / y)
    return np.moveaxis(np.array([[np.cosh(gamma), surge * np.sinh(gamma)], [np.sinh(gamma) / surge, np.cosh(gamma)]]),
                       -1, 0)


def test_cut_of_a_cable_given_by_its_construction_keeps_its_design():
    cable = {"name": "umbilical", "from": "cable_head", "to": "cable_end", "length_km": 28.0, "conductor_mm2": 95.0}
    sections = parse(make(cable=[cable], fault=[FAULT])).cables[0].sections
    assert sections[0].design == sections[1].design and len(sections[0].positive.branch_resistance_ohm_per_m) > 0
