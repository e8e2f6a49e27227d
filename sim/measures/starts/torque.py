"""Torque left over: at standstill against the breakaway torque, and on the way up against the load.

Air-gap torque pulsates at the supply frequency for the first cycles of a start and does no net work on the
shaft while it does; both measures therefore use the mean over one cycle of the source.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np

from sim.measures.signals.axis import CycleAxis, cycle_mean, join_signal
from sim.measures.starts.acceleration import Start
from sim.results.run import RunResult

NEAR_STANDSTILL_PU = 0.05
LOWEST_SPEED_PU = 0.05
HIGHEST_SPEED_PU = 0.95


@dataclass(frozen=True)
class TorqueMargin:
    """Torque of one start, torques in [N m].

    `breakaway` is what the load asks at standstill (None when it asks nothing), `available` what the motor
    reached near standstill, `least` the smallest accelerating torque between 5 % and 95 % of rated
    speed at the frequency asked, and `least_at` the share of it where it lay.
    """

    breakaway: float | None
    available: float | None
    least: float | None
    least_at: float | None


def measure_torque(result: RunResult, machine: Any, start: Start, axis: CycleAxis) -> TorqueMargin:
    """Torque available at standstill and least accelerating torque of one machine's start.

    Parameters
    ----------
    result : RunResult
    machine : Record
    start : Start
    axis : CycleAxis
        Half cycles of the source that feeds the machine.

    Returns
    -------
    margin : TorqueMargin
        Values that the run cannot give are None.

    Checked by
    ----------
    tests/measures/starts/test_torque.py
    """
    if start.began is None:
        return TorqueMargin(None, None, None, None)
    breakaway = find_breakaway(machine, find_multiplier(result, machine, start.began))
    means = mean_signals(result, machine, axis)
    if means is None:
        return TorqueMargin(breakaway, engine_torque(result, machine), None, None)
    torque, speed, excess = means
    share = speed / start.expected
    stop = start.ended if start.reached is None else start.reached
    starting = (axis.starts >= start.began) & (axis.ends <= stop) & np.isfinite(torque)
    near_standstill = torque[starting & (share < NEAR_STANDSTILL_PU)]
    available = find_available(start, engine_torque(result, machine), near_standstill)
    least, least_at = find_least(excess[starting], share[starting])
    return TorqueMargin(breakaway, available, least, least_at)


def mean_signals(result: RunResult, machine: Any, axis: CycleAxis) -> tuple[np.ndarray, np.ndarray, np.ndarray] | None:
    """One-cycle means of torque, speed and torque less load torque; None where a signal is missing."""
    joined = (join_signal(result, machine.name, name) for name in ("torque", "speed", "load_torque"))
    signals = [signal for signal in joined if signal is not None]
    if len(signals) < 3 or len(axis.edges) < 3:
        return None
    torque, speed, load = (cycle_mean(axis, signal) for signal in signals)
    return torque, speed, torque - load


def find_breakaway(machine: Any, multiplier: float) -> float | None:
    """Breakaway torque that a load asks with a multiplier in force [1]; None when it asks nothing. [N m]"""
    share = breakaway_share(machine.load)
    torque = share * machine.load.duty_torque_nm * multiplier if share else 0.0
    return torque if torque > 0.0 else None


def breakaway_share(load: Any) -> float:
    """Torque to be exceeded at standstill, per unit of duty torque: breakaway, or the curve's own start."""
    if load.kind == "none":
        return 0.0
    own = {"compressor": load.constant_pu, "table": (load.torque_pu or [0.0])[0]}.get(load.kind, 0.0)
    return max(load.breakaway_pu or 0.0, own or 0.0)


def find_multiplier(result: RunResult, machine: Any, when: float) -> float:
    """Load multiplier in force at a moment, after the steps up to it that the log tells. [1]

    Where it does not tell them, as in run files of format 1, the load's own multiplier holds throughout.
    """
    steps = [(event.t, event.value) for event in result.events if event.what == "load" and event.where == machine.name
             and event.value is not None and event.t <= when]
    return max(steps, key=lambda step: step[0])[1] if steps else machine.load.load_pu


def engine_torque(result: RunResult, machine: Any) -> float | None:
    """Largest torque the engine saw at standstill. [N m]"""
    outcome = result.machines.get(machine.name)
    return None if outcome is None else float(outcome.available_torque)


def find_available(start: Start, engine: float | None, near_standstill: np.ndarray) -> float | None:
    """Torque available at standstill. [N m]

    The largest one-cycle mean while the shaft is below 5 % of its speed: a peak within a cycle does not
    carry a shaft off, and a shaft that moved shows only afterwards what was to come.  A drive starts with
    a long cycle and its ramp takes up what is left over; once the shaft has moved, the largest torque the
    engine saw at standstill counts there too, as it does when there is no whole cycle.  A shaft that moved
    and stopped again is judged by what it was left with: the last one-cycle mean.
    """
    if not len(near_standstill):
        return engine
    if start.outcome == "stalled" and start.moved:
        return float(near_standstill[-1])
    mean = float(near_standstill.max())
    if engine is None:
        return mean
    return max(mean, engine) if start.drive is not None and start.outcome != "stalled" else mean


def find_least(excess: np.ndarray, share: np.ndarray) -> tuple[float | None, float | None]:
    """Smallest one-cycle mean of torque less load, and the speed share where it lay."""
    rising = (share >= LOWEST_SPEED_PU) & (share <= HIGHEST_SPEED_PU)
    if not rising.any():
        return None, None
    k = np.argmin(excess[rising])
    return float(excess[rising][k]), float(share[rising][k])
