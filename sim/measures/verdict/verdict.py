"""The verdict of a run, in one word and in one sentence.

Torque and acceleration decide; a sag is a contract with the neighbours and an overvoltage one with the
insulation, so they can spoil a good start but not undo it.  The rule, first line that applies:

1. an incomplete run, or one in which no machine was started: **not assessed**;
2. any machine stalled, hung or tripped: **does not start**;
3. any machine still gaining speed when the run ended: **not assessed**;
4. any criterion failed, or left with less margin than the marginal band: **marginal**;
5. otherwise: **starts**.

Criteria that are not assessed do not change the verdict; they are listed beside it.
"""

from typing import Any

from sim.measures.starts.acceleration import Start
from sim.measures.starts.speed import find_asked_hz, name_full_speed
from sim.measures.starts.torque import TorqueMargin

LOST = ("stalled", "hung", "tripped")
NAMED = 2   # failed criteria named in the sentence; the table has them all


def decide(failure: str | None, starts: list[Start], judged: list[dict]) -> str:
    """Apply the rule of this module.

    Parameters
    ----------
    failure : str or None
        Why the run is incomplete.
    starts : list of Start
    judged : list of dict
        The summary's `criteria`.

    Returns
    -------
    verdict : str
        "starts", "marginal", "does not start" or "not assessed".

    Checked by
    ----------
    tests/measures/verdict/test_verdict.py
    """
    if failure is not None or not find_started(starts):
        return "not assessed"
    outcomes = {start.outcome for start in starts}
    if outcomes & set(LOST):
        return "does not start"
    if find_unfinished(starts):
        return "not assessed"
    return "marginal" if any(row["level"] in ("fail", "marginal") for row in judged) else "starts"


def find_started(starts: list[Start]) -> list[Start]:
    """Machines whose start the run shows, and running ones that were lost."""
    return [start for start in starts if start.outcome in LOST
            or start.outcome != "not started" and not start.was_running]


def find_unfinished(starts: list[Start]) -> list[Start]:
    """Machines still gaining speed at the end of the run."""
    return [start for start in starts if start.outcome == "running" and not start.was_running]


def write_sentence(verdict: str, result: Any, starts: list[Start], torques: dict[str, TorqueMargin],
                   judged: list[dict]) -> str:
    """The verdict in one sentence.

    Parameters
    ----------
    verdict : str
    result : RunResult
    starts : list of Start
    torques : dict of TorqueMargin
    judged : list of dict

    Returns
    -------
    sentence : str
        Begins with the verdict and a colon; no full stop.
    """
    if result.failure is not None:
        return f"{verdict}: the run did not reach its end ({result.failure})"
    if not find_started(starts):
        return f"{verdict}: " + "; ".join(["no machine was started in this run", *tell_untried(starts),
                                           tell_margins(judged)])
    machines = {machine.name: machine for machine in result.case.machines}
    lost = [tell_loss(start, machines[start.machine], torques[start.machine])
            for start in starts if start.outcome in LOST]
    unfinished = [tell_unfinished(start, machines[start.machine]) for start in find_unfinished(starts)]
    parts = lost or unfinished or [tell_success(start, machines[start.machine]) for start in find_started(starts)]
    if not lost and not unfinished:
        parts.append(tell_margins(judged))
    return f"{verdict}: " + "; ".join(part for part in parts if part)


def tell_untried(starts: list[Start]) -> list[str]:
    """Machines whose supply had tripped before they saw voltage."""
    return [f"the supply of {start.machine} tripped before it saw voltage ({start.trip_reason})" for start in starts
            if start.outcome == "not started" and start.trip_reason]


def tell_loss(start: Start, machine: Any, torque: TorqueMargin) -> str:
    """How a machine was lost."""
    trip = f"; tripped ({start.trip_reason})" if start.trip_reason else ""
    if start.outcome == "stalled":
        how = "stopped again, torque left is" if start.moved else "stalled at zero speed; torque reached"
        return f"{start.machine} {how} {tell_breakaway(machine, torque)}{trip}"
    if start.outcome == "hung":
        return f"{start.machine} hung at {tell_speed(start, machine)}{tell_least(machine, torque)}"
    at = f"at {tell_speed(start, machine)}, {start.lasted:.3g} s after first voltage"
    return f"{start.machine} tripped {at}" + (f" ({start.trip_reason})" if start.trip_reason else "")


def tell_speed(start: Start, machine: Any) -> str:
    """Speed at which a machine ended, of rated speed at the frequency asked in the end."""
    if start.final_share is None or start.expected is None:
        return "unknown speed"
    whole = name_full_speed(machine.motor, find_asked_hz(machine.motor, start.expected))
    return f"{100.0 * start.final_share:.0f} % of {whole}"


def tell_breakaway(machine: Any, torque: TorqueMargin) -> str:
    """Torque reached and torque needed at standstill."""
    if torque.available is None:
        return "unknown"
    rated = machine.motor.rated_torque_nm
    need = f", breakaway needs {100.0 * torque.breakaway / rated:.3g} %" if torque.breakaway else ""
    return f"{100.0 * torque.available / rated:.3g} % of rated{need}"


def tell_least(machine: Any, torque: TorqueMargin) -> str:
    """Least accelerating torque of a machine that hung."""
    if torque.least is None or torque.least_at is None:
        return ""
    least = round(100.0 * torque.least / machine.motor.rated_torque_nm, 1) + 0.0
    return f"; least accelerating torque {least:g} % of rated at {100.0 * torque.least_at:.0f} % speed"


def tell_unfinished(start: Start, machine: Any) -> str:
    """A machine still on its way; what to do about it."""
    return (f"{start.machine} was still gaining speed at the end of the run, at "
            f"{tell_speed(start, machine)}; lengthen study.duration_s")


def tell_success(start: Start, machine: Any) -> str:
    """A machine that got there."""
    whole = name_full_speed(machine.motor, start.asked_hz)
    return f"{start.machine} reaches 95 % of {whole} in {start.time_to_speed:.3g} s"


def tell_margins(judged: list[dict]) -> str:
    """The worst failed criteria by name, else the worst margin left."""
    failed = [row for row in judged if row["level"] == "fail"]
    if failed:
        failed.sort(key=lambda row: row["margin_pct"])
        more = f" and {len(failed) - NAMED} more" if len(failed) > NAMED else ""
        return "fails " + ", ".join(tell_value(row) for row in failed[:NAMED]) + more
    assessed = [row for row in judged if row["level"] in ("pass", "marginal")]
    if not assessed:
        return "no criterion could be assessed"
    worst = min(assessed, key=lambda row: row["margin_pct"])
    return f"worst margin {worst['margin_pct']:.0f} % ({name_row(worst)})"


def tell_value(row: dict) -> str:
    """A judged value beside its limit."""
    return f"{name_row(row)} ({row['value']:.4g} against {row['limit']:.4g} {row['unit']})"


def name_row(row: dict) -> str:
    """Criterion and place in words."""
    return f"{row['id'].replace('_', ' ')} at {row['where']}"
