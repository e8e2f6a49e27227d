"""Loading of drives, transformers and cables."""

from typing import Any

import numpy as np

from sim.measures.signals.axis import CycleAxis, cut_evenly, cycle_mean, join_signal, join_times
from sim.measures.starts.acceleration import Start
from sim.measures.supply import Span
from sim.measures.voltages.sag import FULL_FREQUENCY_PU, window_frequency
from sim.results.run import RunResult, Stretch

ENDS = ("from", "to")
LIMBS = "abc"


def find_settled(starts: list[Start], spans: list[Span]) -> float | None:
    """Moment from which a run counts as at speed: when its last machine got there. [s]

    Without a machine to start it is the middle of the fed time, past the transients of energising; None
    when a machine never got there or nothing was fed.
    """
    called = [start for start in starts if start.outcome != "not started"]
    reached = [start.reached for start in called
               if start.outcome in ("accelerated", "running") and start.reached is not None]
    if len(reached) < len(called):
        return None
    if called:
        return max(reached)
    return 0.5 * (spans[-1].start + spans[-1].end) if spans else None


def peak_flux(result: RunResult, transformer: Any) -> float | None:
    """Largest flux of any limb over the run, per unit of rated peak flux."""
    return find_largest([limb_flux(result, transformer.name, end) for end in ENDS])


def limb_flux(result: RunResult, owner: str, end: str) -> np.ndarray:
    """Largest flux of the three limbs of one winding, shape (n,), per unit of rated peak flux.

    Where a stretch does not hold the limbs it is the magnitude of the space vector, which bounds them as long as
    the flux has no zero sequence; NaN where it holds neither.
    """
    return np.concatenate([stretch_flux(stretch, owner, end) for stretch in result.stretches])


def stretch_flux(stretch: Stretch, owner: str, end: str) -> np.ndarray:
    """The same within one stretch."""
    signals = stretch.signals.get(owner, {})
    limbs = [signals[f"flux_{end}_{limb}"] for limb in LIMBS if f"flux_{end}_{limb}" in signals]
    if len(limbs) == len(LIMBS):
        return np.abs(limbs).max(axis=0)
    magnitude = signals.get(f"flux_{end}")
    return np.full(len(stretch.t), np.nan) if magnitude is None else np.abs(magnitude)


def find_largest(signals: list[np.ndarray]) -> float | None:
    """Largest finite value of some signals, None when there is none."""
    joined = np.concatenate(signals)
    joined = joined[np.isfinite(joined)]
    return float(joined.max()) if len(joined) else None


def flux_before(result: RunResult, transformer: Any, axis: CycleAxis, rated: float) -> float | None:
    """Largest flux while the source is below 90 % of its rated frequency, per unit of rated peak flux.

    None when the source never was, as behind a grid.
    """
    slow = np.interp(axis.t, axis.edges, axis.frequency) < FULL_FREQUENCY_PU * rated
    return find_largest([limb_flux(result, transformer.name, end)[slow] for end in ENDS])


def flux_at_speed(result: RunResult, transformer: Any, axis: CycleAxis, windows: np.ndarray) -> float | None:
    """Largest one-cycle RMS of the flux magnitude over the given windows, per unit of rated peak flux.

    Overfluxing is a matter of cycles, so the offset that energising leaves must have died out; see
    `find_settled`.
    """
    return largest_rms(result, transformer.name, [f"flux_{end}" for end in ENDS], axis, windows)


def cable_current(result: RunResult, cable: Any, axis: CycleAxis,
                  windows: np.ndarray | None = None) -> float | None:
    """Largest one-cycle RMS current at either end, charging current included. [A]"""
    return largest_rms(result, cable.name, [f"current_{end}" for end in ENDS], axis, windows)


def largest_rms(result: RunResult, owner: str, quantities: list[str], axis: CycleAxis,
                windows: np.ndarray | None) -> float | None:
    """Largest one-cycle RMS of magnitudes over the windows (all when None); None if there is none."""
    signals = [join_signal(result, owner, quantity) for quantity in quantities]
    squares = [cycle_mean(axis, np.square(signal)) for signal in signals if signal is not None]
    picked = squares if windows is None else [square[windows] for square in squares]
    chosen = np.concatenate([*picked, np.empty(0)])
    chosen = chosen[np.isfinite(chosen)]
    return float(np.sqrt(chosen.max())) if len(chosen) else None


def settled_windows(axis: CycleAxis, settled: float | None, spans: list[Span], rated: float) -> np.ndarray:
    """Windows at speed: after `settled` [s], fed, and at 90 % of rated frequency or more, shape (k - 2,)."""
    chosen = np.zeros(len(axis.starts), dtype=bool)
    if settled is None or not len(chosen):
        return chosen
    for span in spans:
        chosen |= (axis.starts >= max(settled, span.start)) & (axis.ends <= span.end + 1e-12)
    return chosen & (window_frequency(axis) >= FULL_FREQUENCY_PU * rated)


def drive_current(result: RunResult, drive: Any) -> float | None:
    """Largest RMS current of a drive over its rated current, smoothed over one rated cycle. [1]

    The magnitude of the space vector is an RMS value at every moment; a cycle at the starting frequency
    would be far too long a mean for a drive's own protection.
    """
    current = join_signal(result, drive.name, "current")
    axis = cut_evenly(join_times(result), 1.0 / drive.frequency_hz)
    means = cycle_mean(axis, current) if current is not None else np.empty(0)
    means = means[np.isfinite(means)]
    rated = drive.rated_va / (np.sqrt(3.0) * drive.rated_v)
    return float(means.max() / rated) if len(means) else None


def machine_currents(result: RunResult, machine: Any) -> tuple[float | None, float | None]:
    """Largest current over the rated one: as RMS magnitude and as instantaneous phase value over sqrt(2).

    The second is None when no stretch has phase currents.
    """
    rated = machine.motor.rated_current_a
    magnitude = join_signal(result, machine.name, "current")
    phases = [join_signal(result, machine.name, f"current_{phase}") for phase in "abc"]
    crests = [np.nanmax(np.abs(phase)) / (np.sqrt(2.0) * rated) for phase in phases if phase is not None]
    return (None if magnitude is None else float(np.nanmax(magnitude) / rated),
            float(max(crests)) if crests else None)


def peak_torque(result: RunResult, machine: Any, quantity: str = "torque") -> float | None:
    """Largest torque of a machine in either direction, of the air gap or, as "shaft_torque", of its shaft. [N m]"""
    torque = join_signal(result, machine.name, quantity)
    return None if torque is None else float(np.nanmax(np.abs(torque)))
