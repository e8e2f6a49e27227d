"""Spectra of voltages in the spans that a case wants in detail: lines, harmonic distortion.

A whole number of periods of the fundamental is transformed, so that every line stands at a multiple of f/n.  The total
distortion counts all of them up to the study's bandwidth, those between the orders too, as sidebands of a carrier are:

    THD = sqrt(sum of squares of all lines but the fundamental) / fundamental

IEC 61000-4-7 groups lines around each order over ten periods; here every line stands for itself.
"""

from typing import Any, NamedTuple

import numpy as np

from sim.measures.signals.axis import find_source, join_times
from sim.results.run import RunResult

STEADY = 2e-3           # share by which the frequency may change over a span
LEAST_CYCLES = 2
FORMER_HZ = 5e3         # band of runs that do not tell it
POINTS_PER_LINE = 4     # points of the grid per period of the bandwidth
SHOWN = 5               # largest lines told in a summary
LEAST = 1e-3            # share of the fundamental below which a line is not told


class Spectrum(NamedTuple):
    """Voltage between phases a and b of one node over one span.

    Attributes
    ----------
    node : str
    start, end : float
        [s]
    fundamental_hz : float
    hz, amplitude : ndarray, shape (n,)
        Lines, RMS. [Hz], [V]
    fundamental : float
        RMS. [V]
    distortion : float
        [1]
    """

    node: str
    start: float
    end: float
    fundamental_hz: float
    hz: np.ndarray
    amplitude: np.ndarray
    fundamental: float
    distortion: float


def find_spectra(result: RunResult) -> list[Spectrum]:
    """Spectra of the nodes at drives and machines in every span of `study.detail_s`.

    A span in which the frequency moves, or that holds less than two periods, gives none.

    Checked by
    ----------
    tests/measures/signals/test_spectrum.py
    """
    spans = getattr(getattr(result.case, "study", None), "detail_s", [])
    nodes = dict.fromkeys([item.node for item in (*result.case.drives, *result.case.machines)])
    return [found for start, end in spans for node in nodes
            if (found := find_spectrum(result, node, start, end)) is not None]


def find_spectrum(result: RunResult, node: str, start: float, end: float) -> Spectrum | None:
    """Spectrum of one node over the last whole periods of a span."""
    stretch = next((one for one in result.stretches if one.engine == "waveform" and len(one.t)
                    and one.t[0] <= start + 1e-6 and one.t[-1] >= min(end, join_times(result)[-1]) - 1e-3), None)
    if stretch is None or "voltage_a" not in stretch.signals.get(node, {}):
        return None
    inside = (stretch.t >= start) & (stretch.t <= end)
    frequency = read_frequency(result, node, stretch)[inside]
    if not len(frequency) or np.ptp(frequency) > STEADY * frequency.mean():
        return None
    hz, t = float(frequency.mean()), stretch.t[inside]
    cycles = int(np.floor((t[-1] - t[0]) * hz + 1e-9))
    if cycles < LEAST_CYCLES:
        return None
    volts = (stretch.signals[node]["voltage_a"] - stretch.signals[node]["voltage_b"])[inside]
    top = float(result.settings.get("bandwidth_hz") or result.case.study.bandwidth_hz or FORMER_HZ)
    # as fine as what is stored: a coarser grid would fold what lies beyond it down onto the lines
    finest = max(POINTS_PER_LINE * top, 1.0 / float(np.median(np.diff(t))))
    count = int(np.ceil(finest * cycles / hz))
    grid = t[-1] - cycles / hz * (1.0 - np.arange(count) / count)
    lines = np.sqrt(2.0) * np.abs(np.fft.rfft(np.interp(grid, t, volts))) / count
    at = np.arange(len(lines)) * hz / cycles
    kept = (at > 0.0) & (at <= top)
    fundamental = float(lines[cycles])
    if fundamental == 0.0:
        return None
    others = lines[kept & (np.arange(len(lines)) != cycles)]
    return Spectrum(node, float(grid[0]), float(t[-1]), hz, at[kept], lines[kept], fundamental,
                    float(np.sqrt(np.sum(others**2)) / fundamental))


def read_frequency(result: RunResult, node: str, stretch: Any) -> np.ndarray:
    """Frequency of what feeds a node over a stretch: the drive's on its island, else the rated one. [Hz]"""
    source, rated = find_source(result.case, node)
    own = stretch.signals.get(source, {}).get("frequency") if source else None
    return np.full(len(stretch.t), rated) if own is None else own


def describe_spectra(spectra: list[Spectrum]) -> list[dict]:
    """Spectra in plain numbers, the largest lines first."""
    told = []
    for one in spectra:
        order = np.argsort(-one.amplitude)
        rest = [k for k in order if abs(one.hz[k] - one.fundamental_hz) > 1e-6 * one.fundamental_hz][:SHOWN]
        told.append({"node": one.node, "from_s": one.start, "to_s": one.end, "fundamental_hz": one.fundamental_hz,
                     "fundamental_kv": one.fundamental / 1e3, "thd_pct": 100.0 * one.distortion,
                     "largest": [{"frequency_hz": float(one.hz[k]), "order": float(one.hz[k] / one.fundamental_hz),
                                  "share_pct": 100.0 * float(one.amplitude[k] / one.fundamental)} for k in rest
                                 if one.amplitude[k] > LEAST * one.fundamental]})
    return told

