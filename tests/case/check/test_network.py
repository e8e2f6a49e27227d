"""Topology: what is joined wrongly is told with both ends of the trouble; what is unusual is a warning."""

import pytest

from sim.topology import group

from ..sample import DRIVE, MACHINE, SAMPLE, find_mistake, find_mistakes, make, make_driven, parse

BREAKER = SAMPLE["breaker"][1]
TRANSFORMER = SAMPLE["transformer"][0]


def add(data, kind, *items):
    data[kind] = [*data.get(kind, []), *items]
    return data


def test_groups_hang_together_over_links():
    # connected components of a graph drawn by hand: a-b-c, d, e-f
    assert group("abcdef", [("a", "b"), ("c", "b"), ("f", "e")]) == [["a", "b", "c"], ["d"], ["e", "f"]]


def test_component_joined_to_one_node_at_both_ends():
    data = add(make(), "breaker", {"name": "loop", "from": "subsea_bus", "to": "subsea_bus"})
    assert find_mistake(data) == ('loop.to = "subsea_bus": must not be the node it starts from. Name the node '
                                "at the other end.")


@pytest.mark.parametrize("kv, share", [(11.0, 67), (3.3, 50)])
def test_voltages_that_do_not_match_name_both_values(kv, share):
    data = make()
    data["machine"][0]["motor"]["rated_kv"] = kv
    assert find_mistake(data) == (
        f"booster.motor.rated_kv = {kv:g}: {share} % from subsea_transformer.to_kv = 6.6, joined without a "
        "transformer. Correct one of the two or put a transformer between them.")


def test_voltages_within_15_percent_pass():
    data = make()
    data["machine"][0]["motor"]["rated_kv"] = 6.0
    assert parse(data).nodes[-1].nominal_v == 6600.0


def test_voltage_is_carried_over_cables_and_closed_or_open_breakers():
    data = make()
    data["grid"][0]["rated_kv"] = 22.0
    assert find_mistake(data).startswith("subsea_transformer.from_kv = 33: 50 % from host_grid.rated_kv = 22,")


def test_um_below_the_voltage_of_the_equipment():
    assert find_mistake(make(node=[{"name": "subsea_bus", "um_kv": 3.6}])).startswith(
        "subsea_bus.um_kv = 3.6: must be >= the nominal voltage 6.6 kV by subsea_transformer.to_kv.")


def test_island_without_a_source():
    data = add(make(), "machine", MACHINE | {"name": "second", "node": "far_bus"})
    assert find_mistake(data) == ("node far_bus: no source feeds second, even with all breakers closed. Add a "
                                "[[grid]] or [[drive]], or join them to a fed node.")


def test_misspelt_node_is_suggested():
    data = make()
    data["cable"][0]["to"] = "cable_and"
    mistake = find_mistake(data)
    assert mistake.startswith("node cable_end, subsea_bus, motor_terminals: no source feeds "
                            "subsea_transformer, ")
    assert "Did you mean node cable_and?" in mistake


def test_open_breakers_do_not_cut_an_island():
    data = make()
    for breaker in data["breaker"]:
        breaker["closed"] = False
    assert {node.island for node in parse(data).nodes} == {0}


def test_no_source_at_all():
    assert "no source feeds" in find_mistakes(make(grid=None))[0]


def test_drive_with_another_source():
    data = add(make(), "drive", DRIVE)
    assert find_mistake(data).startswith("host_grid, host_drive: a drive shares its island with another source")


def test_two_grids_need_one_frequency():
    second = SAMPLE["grid"][0] | {"name": "second_grid", "node": "cable_end"}
    assert len(parse(add(make(), "grid", second)).grids) == 2
    mistake = find_mistake(add(make(), "grid", second | {"frequency_hz": 60.0}))
    assert mistake.startswith("host_grid.frequency_hz = 50, second_grid.frequency_hz = 60: sources of one "
                            "island")


def test_breaker_that_leads_nowhere():
    data = add(make(), "breaker", {"name": "spare_breaker", "from": "subsea_bus", "to": "motor_terminal"})
    assert find_mistake(data) == (
        'spare_breaker.to = "motor_terminal": the breaker leads nowhere, nothing else is joined to this '
        "node. Did you mean motor_terminals? Declare it as [[node]] if it is open on purpose.")
    declared = add(data, "node", {"name": "motor_terminal"})
    assert parse(declared).nodes[-1].name == "motor_terminal"


@pytest.mark.parametrize("kind, item", [
    ("cable", SAMPLE["cable"][0] | {"name": "spare", "from": "cable_end", "to": "far_end"}),
    ("transformer", TRANSFORMER | {"name": "spare", "to": "far_end"})])
def test_open_cable_and_unloaded_transformer_are_sound(kind, item):
    assert "far_end" in [node.name for node in parse(add(make(), kind, item)).nodes]


def test_wrong_terminal_hides_what_would_only_follow_from_it():
    data = make()
    del data["cable"][0]["to"]
    assert find_mistake(data).startswith("umbilical.to: missing.")


@pytest.mark.parametrize("group, degrees", [
    ("Dyn1", 60), ("Dyn5", 180), ("Yd11", 0), ("Yy0", 30), ("Dd6", 150)])
def test_parallel_transformers_of_different_clock(group, degrees):
    data = add(make(), "transformer", TRANSFORMER | {"name": "second", "vector_group": group})
    if degrees:
        assert f"differ by {degrees} degrees" in find_mistake(data)
    else:
        assert parse(data).warnings == []


def test_open_tie_between_different_clocks_is_sound_until_an_event_closes_it():
    data = add(make(), "transformer", TRANSFORMER | {"name": "second", "vector_group": "Dyn1", "to": "bus_b"})
    add(data, "breaker", {"name": "tie", "from": "subsea_bus", "to": "bus_b", "closed": False})
    assert parse(data).breakers[-1].name == "tie"
    add(data, "event", {"at_s": 1.0, "action": "close", "target": "tie"})
    assert "differ by 60 degrees" in find_mistake(data)


def test_parallel_transformers_of_different_ratio_are_a_warning():
    data = add(make(), "transformer", TRANSFORMER | {"name": "second", "tap_pct": 5.0})
    assert any("transformer ratios differ by 4.9 "
               "%" in warning for warning in parse(data).warnings)   # ln 1.05


@pytest.mark.parametrize("clash, told", [
    ({"name": "umbilical"}, "umbilical: the name of 2 components (cable, breaker)."),
    ({"name": "cable_end"}, "cable_end: the name of a breaker and of a node."),
    ({"name": "study"}, "study: a word of the case file itself."),
    ({"name": "grid"}, "grid: a word of the case file itself.")])
def test_names_are_unique(clash, told):
    assert find_mistake(add(make(), "breaker", BREAKER | clash)).startswith(told)


def test_machine_and_node_of_one_name():
    data = make()
    data["machine"][0]["node"] = data["breaker"][1]["to"] = "booster"
    assert find_mistake(data).startswith("booster: the name of a machine and of a node.")


def test_node_tables():
    mistakes = find_mistakes(make(node=[{"name": "subsea_buss"}, {"name": "cable_end"}, {"name": "cable_end"}]))
    assert mistakes == ["cable_end: 2 [[node]] tables of this name. Merge them into one.",
                      "subsea_buss: no component is joined to this node. Did you mean subsea_bus?"]


@pytest.mark.parametrize("event, told", [
    ({"at_s": 1.0, "action": "open", "target": "feeder_braker"},
     'event[1].target = "feeder_braker": no breaker of this name. Did you mean feeder_breaker?'),
    ({"at_s": 1.0, "action": "open", "target": "booster"},
     'event[1].target = "booster": is a machine, but action = "open" needs a breaker. Known breakers: '
     "feeder_breaker, motor_breaker."),
    ({"at_s": 1.0, "action": "start", "target": "host_drive"},
     'event[1].target = "host_drive": no drive of this name. There are no drives.'),
    ({"at_s": 1.0, "action": "load", "target": "booster"},
     'event[1].load_pct: missing. An event with action = "load" needs it.'),
    ({"at_s": 1.0, "action": "open", "target": "feeder_breaker", "to_hz": 5.0},
     'event[1].to_hz = 5.0: belongs to action = "speed", not to "open". Remove it or change the action.'),
    ({"at_s": 10.5, "action": "open", "target": "feeder_breaker"},
     "event[1].at_s = 10.5: must be <= study.duration_s = 10. Move the event or lengthen the study.")])
def test_events(event, told):
    assert find_mistake(make(event=[event])) == told


def test_speed_event_needs_its_frequency():
    event = {"at_s": 1.0, "action": "speed", "target": "host_drive"}
    assert find_mistake(make_driven(event=[event])).startswith("event[1].to_hz: missing.")
    assert parse(make_driven(event=[event | {"to_hz": 30.0}])).events[0].to_hz == 30.0


@pytest.mark.parametrize("changes, told", [
    ({"machine": None, "event": None, "shunt": None}, "no machine in the case"),
    ({"machine": [MACHINE | {"load": {"kind": "pump", "constant_pct": 20.0}}]},
     'booster.load.constant_pct: means nothing for kind = "pump"'),
    ({"machine": [MACHINE | {"motor": MACHINE["motor"] | {"frequency_hz": 60.0}}]},
     "booster.motor.frequency_hz = 60: host_grid is rated 50 Hz"),
    ({"cable": [SAMPLE["cable"][0] | {"rated_kv": 24.0}]},
     "umbilical.rated_kv = 24: below the 33 kV of host_grid.rated_kv"),
    ({"grid": [SAMPLE["grid"][0], SAMPLE["grid"][0] | {"name": "lost_grid", "node": "lost_bus"}]},
     "lost_grid: nothing is joined to its node lost_bus"),
    ({"event": [{"at_s": 1.0, "action": "close", "target": "motor_breaker"}]},
     "event[1]: motor_breaker is closed already at 1 s, the event does nothing")])
def test_warnings(changes, told):
    if changes.get("machine", True) is None:
        changes = changes | {"node": [{"name": "motor_terminals"}]}
    assert [warning for warning in parse(make(**changes)).warnings if warning.startswith(told)]


def test_circuit_too_weak_for_its_rating_is_a_warning():
    circuit = MACHINE["motor"]["circuit"] | {"stator_reactance_pu": 0.9}
    case = parse(make(machine=[MACHINE | {"motor": MACHINE["motor"] | {"circuit": circuit}}]))
    assert case.warnings[0].startswith("booster.motor.circuit: gives less than rated_kw = 2000")
    assert case.used["booster.motor.rated_rpm"]["value"] == 0.985 * 1500.0


def test_sound_sample_has_no_warnings():
    assert parse(make()).warnings == [] and parse(make_driven()).warnings == []
