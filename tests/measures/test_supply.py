"""When a node counts as fed: a graph of closed paths, so every answer follows from the drawing."""

from types import SimpleNamespace

import pytest

from sim.measures.supply import find_spans
from sim.results.run import Event

from .synthetic import T0_TO_10, make_breaker, make_case, make_drive, make_event, make_node, make_run


def spans_of(case, events=()):
    found = find_spans(make_run(case, T0_TO_10, events=list(events)))
    return {node: [(s.start, s.end, s.source, s.planned) for s in spans] for node, spans in found.items()}


def test_feeding_passes_cables_transformers_and_closed_breakers():
    def link(name, a, b):
        return SimpleNamespace(name=name, from_node=a, to_node=b)

    nodes = [make_node(n) for n in ("host", "sending", "receiving", "motor_bus", "island")]
    case = make_case(nodes=nodes, transformers=[link("step_up", "host", "sending")],
                     cables=[link("umbilical", "sending", "receiving")],
                     breakers=[make_breaker("a", "receiving", "motor_bus"),
                               make_breaker("b", "motor_bus", "island", closed=False)])
    found = spans_of(case)
    assert found["motor_bus"] == [(0.0, 10.0, "shore", False)]
    assert found["island"] == []


def test_close_open_close_gives_two_spans():
    case = make_case(breakers=[make_breaker(closed=False)])
    events = [
        Event(t, kind, "feeder_breaker", "") for t, kind in ((1.0, "close"), (4.0, "open"), (6.0, "close"))
    ]
    found = spans_of(case, events)
    assert found["motor_bus"] == [(1.0, 4.0, "shore", True), (6.0, 10.0, "shore", False)]
    assert found["host"] == [(0.0, 10.0, "shore", False)]


def test_feeding_begins_with_the_last_pole_of_a_closing():
    case = make_case(breakers=[make_breaker(closed=False)])
    events = [Event(1.0, "close", "feeder_breaker", "feeder_breaker closes"),
             *(Event(t, "pole_close", "feeder_breaker", f"feeder_breaker pole {pole} closes")
               for pole, t in (("a", 1.2), ("b", 1.0), ("c", 1.1))),
             Event(4.0, "open", "feeder_breaker", ""), Event(6.0, "close", "feeder_breaker", ""),
             Event(6.0, "pole_close", "other", "")]
    assert spans_of(case, events)["motor_bus"] == [(1.2, 4.0, "shore", True), (6.0, 10.0, "shore", False)]


def test_a_closing_called_off_before_its_last_pole_feeds_up_to_the_order_to_open():
    case = make_case(breakers=[make_breaker(closed=False)])
    events = [Event(1.0, "close", "feeder_breaker", ""), Event(1.2, "pole_close", "feeder_breaker", "pole a closes"),
             Event(1.5, "open", "feeder_breaker", ""), Event(1.6, "pole_close", "feeder_breaker", "pole b closes")]
    assert spans_of(case, events)["motor_bus"] == [(1.2, 1.5, "shore", True)]


def test_second_path_keeps_a_node_fed():
    case = make_case(breakers=[make_breaker("a"), make_breaker("b")])
    assert spans_of(case, [Event(3.0, "open", "a", "")])["motor_bus"] == [(0.0, 10.0, "shore", False)]


def test_drive_feeds_from_start_to_stop():
    case = make_case(grids=[], drives=[make_drive()])
    events = [Event(2.0, "start", "host_drive", ""), Event(7.0, "stop", "host_drive", "")]
    assert spans_of(case, events)["motor_bus"] == [(2.0, 7.0, "host_drive", True)]


def test_drive_that_starts_at_once_feeds_from_the_beginning_until_its_trip():
    case = make_case(grids=[], drives=[make_drive()])
    trip = Event(5.0, "trip", "host_drive", "", "overcurrent", False)
    assert spans_of(case, [trip])["host"] == [(0.0, 5.0, "host_drive", False)]


def test_a_drive_whose_start_is_not_in_the_log_feeds_nothing():
    """The case asks for a start that the run did not live to see: the log decides."""
    case = make_case(grids=[], drives=[make_drive()], events=[make_event("start", "host_drive", 3.0)])
    run = make_run(case, T0_TO_10)
    run.events.clear()
    assert find_spans(run) == {"host": [], "motor_bus": []}


@pytest.mark.parametrize("ordered", [False, True])
def test_the_log_tells_whether_a_lone_pole_was_ordered(ordered):
    """Whatever the case asks for: here it asks for an opening that a protection may have forestalled."""
    case = make_case(events=[make_event("open", "feeder_breaker", 5.0)])
    found = spans_of(case, [Event(5.004, "pole_open", "feeder_breaker", "pole a", "", ordered, "a")])
    assert found["motor_bus"] == [(0.0, 5.004, "shore", ordered)]
