"""The network as a graph: every answer follows from the drawing beside it."""

from types import SimpleNamespace

import pytest
from case.sample import MACHINE, make, parse

from sim.components.kinds import KINDS, ROWS
from sim.topology import (
    find_feeders,
    find_first_off,
    find_islands,
    find_off_when_fed,
    find_supplying,
    find_zones,
    list_at_node,
    list_members,
    list_nodes,
    order_nodes,
    trace_ways,
    turn,
)

# host_grid - host_bus = intake_breaker = line_head ~ line ~ line_end - step_down - shelf ( front end of wellhead_drive
# wellhead_drive - drive_bus = start_coil = motor_terminals - booster;   by_pass beside start_coil, open
SHELF = make(
    transformer=[{"name": "step_down", "from": "line_end", "to": "shelf", "rated_mva": 5.0, "from_kv": 33.0,
                  "to_kv": 6.6}],
    cable=[{"name": "line", "from": "line_head", "to": "line_end", "length_km": 28.0, "resistance_ohm_per_km": 0.25,
            "inductance_mh_per_km": 0.4, "capacitance_uf_per_km": 0.2}],
    breaker=[{"name": "intake_breaker", "from": "host_bus", "to": "line_head", "closed": False},
             {"name": "by_pass", "from": "drive_bus", "to": "motor_terminals", "closed": False}],
    drive=[{"name": "wellhead_drive", "node": "drive_bus", "rated_kv": 6.6, "rated_kva": 3000.0,
            "front_end": {"node": "shelf"}}],
    series_reactor=[{"name": "start_coil", "from": "drive_bus", "to": "motor_terminals", "reactance_ohm": 1.5}],
    shunt=None, machine=[MACHINE], node=None,
    event=[{"at_s": 2.0, "action": "start", "target": "wellhead_drive"},
           {"at_s": 1.0, "action": "close", "target": "intake_breaker"},
           {"at_s": 6.0, "action": "close", "target": "by_pass"}])
HOST = ["host_bus", "line_head", "line_end", "shelf"]
MOTOR = ["drive_bus", "motor_terminals"]


@pytest.fixture(scope="module")
def shelf():
    case = parse(SHELF)
    return case, list_members(case)


def test_every_record_is_a_member_once(shelf):
    case, members = shelf
    assert sorted(member.name for member in members) == sorted(
        ["host_grid", "wellhead_drive", "step_down", "line", "start_coil", "intake_breaker", "by_pass", "booster"])
    assert set(list_nodes(members)) == {*HOST, *MOTOR} == {node.name for node in case.nodes}


def test_islands_part_at_the_drive_and_zones_at_the_transformer_too(shelf):
    _, members = shelf
    assert sorted(map(sorted, find_islands(members))) == sorted(map(sorted, [HOST, MOTOR]))
    assert sorted(map(sorted, find_zones(members))) == sorted(map(sorted, [HOST[:3], HOST[3:], MOTOR]))


def test_records_and_items_of_the_case_file_give_the_same_order(shelf):
    case, members = shelf
    assert [node.name for node in case.nodes] == order_nodes(members) == ["host_bus", "drive_bus", "line_head",
                                                                          "motor_terminals", "line_end", "shelf"]


def test_first_positions_and_what_the_orders_make_of_them(shelf):
    case, members = shelf
    off = find_first_off(members, case.events)
    assert off == {"intake_breaker", "by_pass", "wellhead_drive"}
    assert find_feeders(members, off) == {"host_bus": "host_grid"}
    turn(off, members, "close", "intake_breaker")
    assert find_feeders(members, off) == dict.fromkeys(HOST, "host_grid")
    turn(off, members, "start", "wellhead_drive")
    assert find_feeders(members, off) == dict.fromkeys(HOST, "host_grid") | dict.fromkeys(MOTOR, "wellhead_drive")
    for mark in ("load", "pole_close"):
        turn(off, members, mark, "wellhead_drive")
    assert off == {"by_pass"}
    turn(off, members, "trip", "wellhead_drive")
    assert off == {"by_pass", "wellhead_drive"}


def test_a_drive_that_waits_for_no_order_runs_from_the_start():
    members = list_members(parse(SHELF | {"event": []}))
    assert find_first_off(members, []) == {"intake_breaker", "by_pass"}


def test_the_bypass_is_open_when_the_motor_first_gets_voltage(shelf):
    case, members = shelf
    assert find_off_when_fed(members, case.events, "motor_terminals") == {"by_pass"}
    assert find_off_when_fed(members, case.events, "host_bus") == {"intake_breaker", "by_pass", "wellhead_drive"}
    assert find_off_when_fed(members, [], "shelf") is None


def test_ways_pass_series_reactors_and_avoid_what_is_open(shelf):
    _, members = shelf
    ways = trace_ways(members, "drive_bus", {"by_pass"})
    assert [member.name for member in ways["motor_terminals"]] == ["start_coil"] and set(ways) == set(MOTOR)
    assert [member.name for member in trace_ways(members, "host_bus")["shelf"]] == ["intake_breaker", "line",
                                                                                    "step_down"]


def test_the_supply_of_a_motor_reaches_through_the_front_end_and_not_back(shelf):
    _, members = shelf
    assert find_supplying(members, ["motor_terminals"]) == {*HOST, *MOTOR}
    assert find_supplying(members, ["shelf"]) == set(HOST)


def test_front_ends_stand_at_their_node(shelf):
    _, members = shelf
    assert {member.name for member in list_at_node(members, "shelf")} == {"step_down", "wellhead_drive"}


@pytest.mark.parametrize("kind", [kind for kind, row in ROWS.items() if row.is_component])
def test_rows_agree_with_the_declared_tables(kind):
    row = ROWS[kind]
    assert set(row.terminals) | set(row.volts) <= set(KINDS[kind].model_fields)
    assert (row.closed == "") or row.closed in KINDS[kind].model_fields
    assert len(row.terminals) == (2 if row.carries else 1)


def test_a_kind_of_its_own_is_one_row(monkeypatch):
    monkeypatch.setitem(ROWS, "ferry", ROWS["series_reactor"].__class__(
        KINDS["series_reactor"], "ferries", ("from_node", "to_node"), carries=True))
    ferry = SimpleNamespace(name="crossing", from_node="quay", to_node="island")
    grid = SimpleNamespace(name="mains", node="quay")
    members = list_members(SimpleNamespace(grids=[grid], ferries=[ferry]))
    assert find_feeders(members) == {"quay": "mains", "island": "mains"} and find_zones(members) == [["quay"],
                                                                                                    ["island"]]
