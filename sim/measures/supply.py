"""When each node was fed, and from where.

A node is fed while a way of closed breakers and of what carries current joins it to a grid or to a drive that
runs.  Feeding begins when the last pole has closed and ends at the order to open (not at the last pole), at a stop
or at a trip, so that the dead time before and after is never taken for a sag.  What happened when is read from the
log of the run, which holds the start of every drive; the case gives the network and the first position of its breakers.
"""

from dataclasses import dataclass, replace
from typing import Any

from sim.results.run import Event, RunResult
from sim.topology import Member, find_feeders, is_on_at_start, list_members, turn


@dataclass(frozen=True)
class Span:
    """One unbroken time in which a node was fed. Times in [s].

    `source` is the name of the grid or drive; `ended_by` is the kind of the event that ended it (None when
    the run ended first) and `planned` says whether that end was ordered.
    """

    start: float
    end: float
    source: str
    ended_by: str | None
    planned: bool


def find_spans(result: RunResult) -> dict[str, list[Span]]:
    """Fed spans of every node of the case, in order of time; an empty list for a node never fed."""
    case = result.case
    first, last = result.stretches[0].t[0], result.stretches[-1].t[-1]
    members = list_members(case)
    off = find_off_before(members)
    spans: dict[str, list[Span]] = {node.name: [] for node in case.nodes}
    fed = find_feeders(members, off)
    open_spans = {node: Span(first, last, source, None, False) for node, source in fed.items()}
    for event in list_moves(result.events):
        turn(off, members, event.what, event.where)
        fed = find_feeders(members, off)
        end_spans(open_spans, spans, fed, event)
        for node in fed.keys() - open_spans.keys():
            open_spans[node] = Span(max(event.t, first), last, fed[node], None, False)
    for node, span in open_spans.items():
        if span.end > span.start:
            spans[node].append(span)
    return spans


def find_off_before(members: list[Member]) -> set[str]:
    """Names of what neither carries nor feeds before the first event of a log: open breakers, every drive."""
    waiting = {(member.row.turned_on, member.name) for member in members if member.row.turned_on}
    return {member.name for member in members if not is_on_at_start(member, waiting)}


def list_moves(events: list[Event]) -> list[Event]:
    """Events in order of time, an order to close put off to the last of the poles that followed it."""
    ordered = sorted(events, key=lambda event: event.t)
    moves = [put_off(event, ordered[k + 1:]) if event.what == "close" else event for k, event in enumerate(ordered)]
    return sorted(moves, key=lambda event: event.t)


def put_off(order: Event, later: list[Event]) -> Event:
    """An order to close at the time at which the last pole had closed because of it."""
    t = order.t
    for event in later:
        if event.where == order.where and event.what in ("close", "open", "trip"):
            break
        t = event.t if event.where == order.where and event.what == "pole_close" else t
    return replace(order, t=t)


def end_spans(open_spans: dict[str, Span], spans: dict[str, list[Span]], fed: dict[str, str], event: Event) -> None:
    """Close the spans of the nodes that the event cut off; spans of no length are dropped."""
    for node in list(open_spans.keys() - fed.keys()):
        span = open_spans.pop(node)
        if event.t > span.start:
            spans[node].append(replace(span, end=event.t, ended_by=event.what, planned=event.ordered))


def find_drive(case: Any, name: str) -> Any | None:
    """Record of the drive called `name`, None when the name is a grid's."""
    return next((drive for drive in case.drives if drive.name == name), None)
