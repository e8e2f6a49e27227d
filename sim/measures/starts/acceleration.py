"""How each machine's start ended.

Outcomes: *accelerated* (reached 95 % of rated speed, at the frequency that its source is sent to, and was there until
the run or an ordered end came), *stalled* (never left standstill, or stopped again), *hung* (a plateau below that
speed), *tripped* (a protection took it off), *running* (at speed before the run began, or still gaining speed when it
ended), *not started* (never saw voltage, or its supply was tripped before it did). A start is judged up to its first
ordered end: a controlled stop, a stop, an opening.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np

from sim.measures.signals.axis import join_signal, join_times
from sim.measures.starts.attempts import cut_attempts
from sim.measures.starts.speed import AT_SPEED_PU, expect_speed, find_asked_hz, find_reached
from sim.measures.supply import Span, find_drive
from sim.results.run import MachineOutcome, RunResult

STANDSTILL_PU = 0.01
RECENT_SHARE = 0.1       # share of the time since energisation over which the gain of speed is judged
RECENT_CYCLES = 10.0     # but not less than this many rated cycles, so that torque ripple averages out
PATIENCE = 5.0           # a plateau: at the present gain it would take this many times the elapsed time


@dataclass(frozen=True)
class Start:
    """One machine's start.

    Times in [s], speeds in [rad/s]; `began` is the first voltage, `ended` the ordered end, the trip or
    the end of the run, `expected` the speed it should have reached by then: rated speed at the frequency that its
    source was sent to (see `sim.measures.starts.speed`).  `asked` is that speed when it was `reached`, `asked_hz` the
    frequency [Hz]; where it was not, those of the end.  `was_running` marks a machine at speed before the run
    began, `moved` one whose shaft ever left standstill.  Values that do not apply are None.
    """

    machine: str
    outcome: str
    drive: str | None = None
    began: float | None = None
    ended: float | None = None
    reached: float | None = None
    expected: float | None = None
    asked: float | None = None
    asked_hz: float | None = None
    final_speed: float | None = None
    was_running: bool = False
    moved: bool = False
    trip_reason: str | None = None

    @property
    def time_to_speed(self) -> float | None:
        """From first voltage to 95 % of rated speed at the frequency asked then. [s]"""
        if self.reached is None or self.began is None or self.was_running:
            return None
        return self.reached - self.began

    @property
    def at_speed(self) -> float | None:
        """Speed from which the machine counts as at speed. [rad/s]"""
        return None if self.asked is None else AT_SPEED_PU * self.asked

    @property
    def lasted(self) -> float | None:
        """From first voltage to the end that is judged. [s]"""
        return None if self.began is None or self.ended is None else self.ended - self.began

    @property
    def final_share(self) -> float | None:
        """Final speed per unit of the expected one at the end."""
        return None if self.final_speed is None or self.expected is None else self.final_speed / self.expected


@dataclass(frozen=True)
class Piece:
    """Speed of one machine within one fed span. Shapes (n,); [s], [rad/s]."""

    t: np.ndarray
    speed: np.ndarray
    expected: np.ndarray


def judge_start(result: RunResult, machine: Any, spans: list[Span]) -> Start:
    """Judge one machine's start from its speed.

    Parameters
    ----------
    result : RunResult
    machine : Record
        A machine of the case.
    spans : list of Span
        When its node was fed.

    Returns
    -------
    start : Start
        With more than one attempt (a restart) the last decides the outcome and the first that reached speed
        gives the time.  Where the supply was tripped before the machine saw voltage, and never came back, it is not
        started and the cause of the trip is told.

    Checked by
    ----------
    tests/measures/starts/test_acceleration.py
    """
    speed = join_signal(result, machine.name, "speed")
    outcome = result.machines.get(machine.name)
    attempts = cut_attempts(result, spans)
    tripped = find_trip(outcome, attempts)
    reason = outcome.trip_reason if tripped is not None and outcome is not None else None
    spans = [span for span in attempts if tripped is None or span.start < tripped]
    if not spans or speed is None or outcome is not None and not outcome.energised:
        return Start(machine.name, "not started", trip_reason=reason)
    cut = [cut_piece(result, machine, span, speed, tripped) for span in spans]
    times = [find_reached(piece.t, piece.speed, piece.expected) for piece in cut]
    reached = next((when for when in times if when is not None), None)
    last, span = cut[-1], spans[-1]
    at_once = reached is not None and reached == cut[0].t[0] == result.stretches[0].t[0]
    label = name_outcome(last, reached, tripped, at_once, 1.0 / machine.motor.frequency_hz)
    drive, asked = find_drive(result.case, span.source), find_asked(cut, times)
    return Start(machine.name, label, drive.name if drive else None, float(spans[0].start), float(last.t[-1]),
                 reached, float(last.expected[-1]), asked, find_asked_hz(machine.motor, asked), float(last.speed[-1]),
                 at_once, outcome is not None and outcome.ever_moved, reason)


def find_asked(cut: list[Piece], times: list[float | None]) -> float:
    """Speed that was expected when the machine first was at speed, else at the end. [rad/s]"""
    for piece, when in zip(cut, times):
        if when is not None:
            return float(piece.expected[np.searchsorted(piece.t, when)])
    return float(cut[-1].expected[-1])


def find_trip(outcome: MachineOutcome | None, spans: list[Span]) -> float | None:
    """Time of a trip that ended the last attempt, None if there was none. [s]

    A machine that went off at or after an ordered end was not tripped, nor was one whose supply has started again
    since.
    """
    last = spans[-1] if spans else None
    if outcome is not None and outcome.tripped_at is not None:
        planned = last is not None and last.planned and outcome.tripped_at >= last.end - 1e-9
        again = last is not None and last.start > outcome.tripped_at
        return None if planned or again else outcome.tripped_at
    return last.end if last is not None and last.ended_by in ("trip", "pole_open") and not last.planned else None


def cut_piece(result: RunResult, machine: Any, span: Span, speed: np.ndarray, tripped: float | None) -> Piece:
    """Speed within a span, closed at both ends by interpolation and ended by a trip."""
    t = join_times(result)
    end = span.end if tripped is None else min(span.end, tripped)
    known = np.isfinite(speed)
    inner = t[known & (t > span.start) & (t < end)]
    within = np.concatenate([[span.start], inner, [end]])
    return Piece(within, np.interp(within, t[known], speed[known]),
                 expect_speed(result, machine.motor, span, within))


def name_outcome(piece: Piece, reached: float | None, tripped: float | None, at_once: bool,
                 cycle: float) -> str:
    """Word for the state a machine ended in; `cycle` is the rated period. [s]"""
    final = piece.speed[-1] / piece.expected[-1]
    if final < STANDSTILL_PU:
        return "stalled"
    if tripped is not None:
        return "tripped"
    if reached is not None and final >= AT_SPEED_PU:
        return "running" if at_once else "accelerated"
    return "hung" if is_plateau(piece, cycle) else "running"


def is_plateau(piece: Piece, cycle: float) -> bool:
    """Whether the speed has stopped rising towards the expected one.

    The gain over the last tenth of the time (ten cycles at least) is carried on; a machine that would need
    another five times the time it has had is on a plateau.
    """
    elapsed = piece.t[-1] - piece.t[0]
    recent = min(max(RECENT_SHARE * elapsed, RECENT_CYCLES * cycle), elapsed)
    middle, begin = piece.t[-1] - 0.5 * recent, piece.t[-1] - recent
    gain = (mean_over(piece, middle, piece.t[-1]) - mean_over(piece, begin, middle)) / (0.5 * recent)
    missing = AT_SPEED_PU * piece.expected[-1] - piece.speed[-1]
    return gain * PATIENCE * elapsed <= missing


def mean_over(piece: Piece, begin: float, end: float) -> float:
    """Mean speed between two times. [rad/s]"""
    inner = piece.t[(piece.t > begin) & (piece.t < end)]
    t = np.concatenate([[begin], inner, [end]])
    speed = np.interp(t, piece.t, piece.speed)
    return float(0.5 * (speed[1:] + speed[:-1]) @ np.diff(t) / (end - begin))
