"""What surge arresters, series capacitors and faults went through: energy, voltage, peak and last-cycle current."""

from typing import Any

import numpy as np

from sim.measures.signals.axis import Clock, join_signal, join_times

PHASES = "abc"
CREST = np.sqrt(2.0 / 3.0)
CLEARED = 0.01      # share of its peak below which a fault current counts as cleared by someone else


def measure_arrester(result: Any, arrester: Any) -> dict[str, float | None]:
    """Summary entry of one arrester; the phase with the most energy counts, as each is rated for itself.

    Parameters
    ----------
    result : RunResult
    arrester : Record
        `energy_j` is the energy one phase can take [J], None when it is not known.

    Returns
    -------
    entry : dict
        All None when no waveform stretch carried the arrester.

    Checked by
    ----------
    tests/measures/switching/test_duty.py
    """
    duty, rating = getattr(result, "arresters", {}).get(arrester.name), getattr(arrester, "energy_j", None)
    if duty is None:
        return dict.fromkeys(("energy_kj", "energy_pct", "peak_current_a", "peak_voltage_kv"))
    energy = max(duty.energy)
    return {"energy_kj": energy / 1e3, "energy_pct": 100.0 * energy / rating if rating else None,
            "peak_current_a": duty.peak_current, "peak_voltage_kv": duty.peak_voltage / 1e3}


def measure_capacitor(result: Any, capacitor: Any) -> float | None:
    """Largest voltage across a series capacitor in any phase, at the stored points, None when nothing was stored. [V]

    Envelope stretches hold the magnitude of the space vector, whose crest every phase reaches.
    """
    phases = [join_signal(result, capacitor.name, f"voltage_across_{phase}") for phase in PHASES]
    line = join_signal(result, capacitor.name, "voltage_across")
    crests = [np.abs(phase) for phase in phases if phase is not None]
    crests += [] if line is None else [CREST * line]
    return float(max(np.nanmax(crest) for crest in crests)) if crests else None


def measure_fault(result: Any, fault: Any, frequency: Clock) -> dict[str, float | None]:
    """Summary entry of one fault.

    Parameters
    ----------
    result : RunResult
    fault : Record
        The log tells when it struck and when it was told to go out.
    frequency : callable
        Frequency of the fault's source [Hz] at a time [s].

    Returns
    -------
    entry : dict
        `peak_current_a` is the largest instantaneous current of any phase, `rms_current_a` the RMS of the largest
        phase over the last full cycle before the fault was cleared, by its arc or by a breaker, or the run ended.
        None where no stretch holds the currents, and for the RMS of a fault that lasted less than a cycle.

    Checked by
    ----------
    tests/measures/switching/test_duty.py
    """
    phases = [join_signal(result, fault.name, f"current_{phase}") for phase in PHASES]
    if any(phase is None for phase in phases):
        return dict.fromkeys(("peak_current_a", "rms_current_a"))
    t, currents = join_times(result), np.array(phases)
    size = np.nan_to_num(np.abs(currents).max(axis=0))
    peak = float(size.max())
    fed = t[size > CLEARED * peak]
    if not len(fed):
        return {"peak_current_a": peak, "rms_current_a": None}
    end = min(float(fed[-1]), find_moment(result, fault, "fault_cleared"))
    begin = end - 1.0 / frequency(end)
    known = np.isfinite(currents).all(axis=0)
    whole = begin >= find_moment(result, fault, "fault") - 1e-9
    rms = max(measure_rms(t[known], phase[known], begin, end) for phase in currents) if whole else None
    return {"peak_current_a": peak, "rms_current_a": rms}


def find_moment(result: Any, fault: Any, what: str) -> float:
    """When the log tells this of a fault first, infinite where it does not. [s]"""
    return min((event.t for event in result.events if event.where == fault.name and event.what == what), default=np.inf)


def measure_rms(t: np.ndarray, y: np.ndarray, begin: float, end: float) -> float:
    """RMS of a signal, shape (n,), between two times [s], by the trapezium rule."""
    inner = t[(t > begin) & (t < end)]
    at = np.concatenate([[begin], inner, [end]])
    square = np.square(np.interp(at, t, y))
    return float(np.sqrt(0.5 * (square[1:] + square[:-1]) @ np.diff(at) / (end - begin)))
