"""Attempts to start: the fed spans of a node, each cut where its drive was told to come down."""

from dataclasses import replace

from sim.measures.supply import Span
from sim.results.run import RunResult

ENDING, BEGINNING = "ramp_down", "start"


def cut_attempts(result: RunResult, spans: list[Span]) -> list[Span]:
    """Spans in which a machine was meant to come to speed and stay there.

    Parameters
    ----------
    result : RunResult
    spans : list of Span
        When the node of the machine was fed.

    Returns
    -------
    attempts : list of Span
        A controlled stop ends its attempt; a drive that starts again before it blocked its pulses begins another.

    Checked by
    ----------
    tests/measures/starts/test_attempts.py
    """
    return [attempt for span in spans for attempt in cut_span(result, span)]


def cut_span(result: RunResult, span: Span) -> list[Span]:
    """Attempts within one span, those of no length left out."""
    attempts, open_at = [], span.start
    stopping = False
    for event in sorted(result.events, key=lambda event: event.t):
        if event.where != span.source or not span.start <= event.t < span.end:
            continue
        if event.what == ENDING and not stopping:
            attempts.append(replace(span, start=open_at, end=event.t, ended_by=event.what, planned=event.ordered))
            stopping = True
        elif event.what == BEGINNING and stopping:
            open_at, stopping = event.t, False
    if not stopping:
        attempts.append(replace(span, start=open_at))
    return [attempt for attempt in attempts if attempt.end > attempt.start]
