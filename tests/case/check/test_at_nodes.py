"""Arresters, reactors, faults and random closings stand at what there is, and are rated for it."""

import pytest

from ..sample import DRIVE, SAMPLE, SWITCHING, find_mistake, find_mistakes, make, make_driven, make_switched, parse

ARRESTER, REACTOR = SWITCHING["arrester"][0], SWITCHING["reactor"][0]
NODE_FAULT = {"name": "short", "node": "cable_end", "at_s": 2.0, "phases": "a"}
SPARE = {"name": "spare_breaker", "from": "subsea_bus", "to": "spare"}


@pytest.mark.parametrize("kind, item", [("arrester", ARRESTER), ("reactor", REACTOR), ("fault", NODE_FAULT)])
def test_what_stands_at_a_node_makes_none(kind, item):
    assert find_mistake(make(**{kind: [item | {"node": "cable_ent"}]})) == (
        f'{item["name"]}.node = "cable_ent": no such node; a {kind} alone does not make one. Did you mean cable_end?')
    told = find_mistake(make(node=[{"name": "stub"}], **{kind: [item | {"node": "stub"}]}))
    assert told.startswith(f'{item["name"]}.node = "stub": no such node; a {kind} alone does not make one.')


@pytest.mark.parametrize("kind, item", [("arrester", ARRESTER), ("fault", NODE_FAULT)])
def test_breaker_to_an_arrester_or_a_fault_leads_nowhere(kind, item):
    data = make(breaker=[*SAMPLE["breaker"], SPARE], **{kind: [item | {"node": "spare"}]})
    assert find_mistake(data).startswith(
        f'spare_breaker.to = "spare": the breaker leads nowhere, nothing but {item["name"]} is joined to this node.')
    data["node"] = [{"name": "spare"}]
    assert "spare" in [node.name for node in parse(data).nodes]


def test_breaker_may_switch_a_reactor():
    data = make(breaker=[*SAMPLE["breaker"], SPARE], reactor=[REACTOR | {"node": "spare"}])
    case = parse(data)
    assert case.reactors[0].node == "spare" and case.reactors[0].rated_v == 6600.0 and case.warnings == []


def test_source_that_feeds_only_an_arrester_is_a_warning():
    lost = SAMPLE["grid"][0] | {"name": "lost_grid", "node": "lost_bus"}
    data = make(grid=[SAMPLE["grid"][0], lost], arrester=[ARRESTER | {"node": "lost_bus", "rated_kv": 42.0}])
    assert parse(data).warnings == [f"lost_grid: nothing but {ARRESTER['name']} is joined to its node lost_bus"]


@pytest.mark.parametrize("values, told", [
    ({"rated_kv": 4.0}, "bus_arrester.rated_kv = 4.0: continuous_kv is 3.2 (0.8 of it), an arrester rated under the "
                        "service voltage; it must bear 3.811 kV to earth all the time, by subsea_transformer.to_kv = "
                        "6.6. Choose an arrester of higher rating."),
    ({"continuous_kv": 3.8}, "bus_arrester.continuous_kv = 3.8: an arrester rated under the service voltage;"),
    ({"node": "cable_end"}, "bus_arrester.rated_kv = 9.0: continuous_kv is 7.2 (0.8 of it), an arrester rated under "
                            "the service voltage; it must bear 19.05 kV")])
def test_arrester_bears_the_service_voltage(values, told):
    assert find_mistake(make(arrester=[ARRESTER | values])).startswith(told)


def test_arrester_at_the_service_voltage_is_sound():
    case = parse(make(arrester=[ARRESTER | {"continuous_kv": 6.6 / 3**0.5}]))
    assert case.warnings == []      # Dyn11: the neutral of the motor side is earthed


@pytest.mark.parametrize("group, node, rated, warned", [
    ("Dyn11", "motor_terminals", 6.0, False), ("Dd0", "motor_terminals", 6.0, True),
    ("Dd0", "motor_terminals", 9.0, False), ("Dd0", "cable_end", 30.0, False), ("YNd11", "motor_terminals", 6.0, True)])
def test_arrester_on_an_unearthed_network(group, node, rated, warned):
    data = make(arrester=[ARRESTER | {"node": node, "rated_kv": rated}],
                transformer=[SAMPLE["transformer"][0] | {"vector_group": group}])
    assert parse(data).warnings == ([
        f"bus_arrester.rated_kv = {rated:g}: bears {0.8 * rated:g} kV for long, and no neutral of its network is "
        "earthed: an earth fault of one phase puts the full 6.6 kV between lines by subsea_transformer.to_kv across it"]
        if warned else [])


@pytest.mark.parametrize("source, group, warned", [
    ({"grid": [SAMPLE["grid"][0] | {"earthed": False}]}, "Dyn11", True),
    ({"grid": [SAMPLE["grid"][0] | {"earthed": False}]}, "YNd11", False),
    ({"grid": None, "drive": [DRIVE]}, "Dyn11", True),
    ({"grid": None, "drive": [DRIVE | {"earthed": True}]}, "Dyn11", False)])
def test_neutrals_of_sources_and_transformers(source, group, warned):
    data = make(arrester=[ARRESTER | {"node": "cable_head", "rated_kv": 36.0}],
                transformer=[SAMPLE["transformer"][0] | {"vector_group": group}], **source)
    assert bool(parse(data).warnings) == warned


def test_reactor_is_rated_for_its_node():
    assert parse(make(reactor=[REACTOR | {"rated_kv": 36.0}])).reactors[0].rated_v == 36e3
    assert find_mistake(make(reactor=[REACTOR | {"rated_kv": 11.0}])) == (
        "compensator.rated_kv = 11: 67 % from host_grid.rated_kv = 33, joined without a transformer. Correct one of "
        "the two or put a transformer between them.")


def put(**values):
    """Sample with the fault along the cable changed."""
    return make_switched(fault=[SWITCHING["fault"][0] | values])


@pytest.mark.parametrize("km", [0.0, 0.0005, 27.9995, 28.0, 40.0])
def test_fault_lies_within_its_cable(km):
    assert find_mistake(put(at_km=km)) == (
        f"short.at_km = {km}: must be > 0 and < 28, the length of umbilical, 1 m from its ends at least. Correct the "
        'distance; at an end give node = "cable_head" or node = "cable_end", not cable and at_km.')


def test_fault_in_the_unit_of_the_file():
    data = put()
    data["fault"][0] |= {"at_m": data["fault"][0].pop("at_km") * 4e3}
    assert find_mistake(data).startswith("short.at_m = 40000.0, that is at_km = 40.0: must be > 0 and < 28")


@pytest.mark.parametrize("name, told", [
    ("umbilicus", 'short.cable = "umbilicus": no cable of this name. Did you mean umbilical?'),
    ("booster", 'short.cable = "booster": is a machine, not a cable. Known cables: umbilical.')])
def test_fault_on_a_cable_that_is_none(name, told):
    assert find_mistake(put(cable=name)) == told


def test_name_of_a_fault_is_its_own():
    assert find_mistake(put(name="booster")).startswith("booster: the name of 2 components (machine, fault).")
    assert find_mistake(make(fault=[NODE_FAULT | {"name": "cable_end"}])).startswith(
        "cable_end: the name of a fault and of a node.")


def test_fault_named_like_a_joint():
    cable = SAMPLE["cable"][0] | {"section": [{"length_km": 8.0}, {"length_km": 20.0}]}
    del cable["length_km"]
    assert find_mistake(make(cable=[cable], fault=[SWITCHING["fault"][0] | {"name": "joint_1"}])).startswith(
        "joint_1: umbilical has a joint of this name between its sections.")


@pytest.mark.parametrize("shots, told", [
    ({"breaker": "feeder_braker"},
     'shots.breaker = "feeder_braker": no breaker of this name. Did you mean feeder_breaker?'),
    ({"breaker": "umbilical"},
     'shots.breaker = "umbilical": is a cable, not a breaker. Known breakers: feeder_breaker, motor_breaker.'),
    ({"breaker": "motor_breaker"}, 'shots.breaker = "motor_breaker": no event closes it. Add shots.at_s, the time from '
                                   'which it may close, or an [[event]] with action = "close".'),
    ({"breaker": "feeder_breaker", "at_s": 10.5}, "shots.at_s = 10.5: must be <= study.duration_s = 10."),
    ({"breaker": "feeder_breaker", "trapped_cables": ["umbilical", "umbilicus"]},
     'shots.trapped_cables[2] = "umbilicus": no cable of this name. Did you mean umbilical?'),
    ({"breaker": "feeder_breaker", "trapped_cables": ["umbilical", "booster"]},
     'shots.trapped_cables[2] = "booster": is a machine, not a cable.'),
    ({"breaker": "feeder_breaker", "trapped_cables": ["umbilical", "umbilical"]},
     "shots.trapped_cables: names umbilical 2 times."),
    ({"breaker": "feeder_breaker", "trapped_cables": "umbilical"},
     'shots.trapped_cables = "umbilical": must be a list of names. Give the names of the cables with a charge left.'),
    ({"breaker": "feeder_breaker", "trapped_most_pu": 1.0},
     "shots.trapped_most_pu = 1.0: no cable is named to leave the charge on."),
    ({"breaker": "feeder_breaker", "seed": 1.5}, "shots.seed = 1.5: must be a whole number"),
    ({}, "shots.breaker: missing.")])
def test_random_closings(shots, told):
    assert find_mistake(make_switched(shots=shots)).startswith(told)


def test_shots_may_close_a_breaker_that_no_event_closes():
    data = make_switched(shots={"breaker": "motor_breaker", "at_s": 1.0})
    data["breaker"][1]["closed"] = False
    shots = parse(data).shots
    assert (shots.breaker, shots.at_s) == ("motor_breaker", 1.0)


def test_override_may_begin_a_table_of_shots():
    case = parse(make_driven(), "shots.breaker=feeder_breaker", "shots.seed=7")
    assert case.shots.seed == 7 and parse(make_driven()).shots is None
    assert find_mistake(make_driven(), "shots.seed=7").startswith("shots.breaker: missing.")


@pytest.mark.parametrize("name", ["reactor", "arrester", "fault"])
def test_common_words_stay_free_as_names(name):
    assert parse(make(shunt=[SAMPLE["shunt"][0] | {"name": name}])).shunts[0].name == name
    data = make(shunt=[SAMPLE["shunt"][0] | {"name": "shots"}])
    assert find_mistake(data).startswith("shots: a word of the case file")


SEABED = DRIVE | {"name": "seabed_drive", "node": "drive_bus", "rated_kv": 6.6}


def make_fronted(at, **changes):
    """The sample with a drive on its own island that takes its power at a node."""
    return make(drive=[SEABED | {"front_end": {"node": at}}], **changes)


def test_front_end_is_joined_to_its_node():
    lost = SAMPLE["grid"][0] | {"name": "lost_grid", "node": "lost_bus"}
    case = parse(make_fronted("lost_bus", grid=[SAMPLE["grid"][0], lost], node=[{"name": "lost_bus"}]))
    assert case.warnings == ["seabed_drive: nothing is joined to its node drive_bus"]
    case = parse(make_fronted("spare", breaker=[*SAMPLE["breaker"], SPARE]))
    assert "spare" in [node.name for node in case.nodes]


def test_node_of_a_front_end_alone():
    told = "seabed_drive.front_end.node = \"stub\": no"
    assert find_mistake(make_fronted("stub")).startswith(f"{told} node of this name.")
    assert find_mistake(make_fronted("stub", node=[{"name": "stub"}])).startswith(f"{told} grid feeds this node,")


def test_island_without_a_source_names_its_front_end():
    stray = SAMPLE["cable"][0] | {"name": "stray", "from": "left", "to": "right"}
    told = find_mistakes(make_fronted("right", cable=[*SAMPLE["cable"], stray]))
    assert told[0] == ("node left, right: no source feeds stray, seabed_drive.front_end, even with all breakers "
                       "closed. Add a [[grid]], or join them to a fed node.")
    assert told[1].startswith("seabed_drive.front_end.node = \"right\": no grid feeds this node") and len(told) == 2
