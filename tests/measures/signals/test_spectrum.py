"""Spectra of spans in detail: lines put in are read back, and what is too short or unsteady gives none."""

from types import SimpleNamespace

import numpy as np
import pytest

from sim.measures.signals.spectrum import describe_spectra, find_spectra

HZ, TOP = 43.0, 5000.0
LINES = {1.0: 3300.0, 5.0: 165.0, 19.4: 82.5}           # order -> RMS between phases


def make(lines=LINES, end=0.5, frequency=None, spans=((0.1, 0.4),)):
    """A drive at a motor's node; a voltage of given lines in balanced phases, those between orders too."""
    t = np.arange(0.0, end, 1e-5)
    volts = {f"voltage_{phase}": sum(np.sqrt(2.0 / 3.0) * rms * np.cos(
        2.0 * np.pi * HZ * order * t - turn * 2.0 * np.pi / 3.0) for order, rms in lines.items())
        for turn, phase in enumerate("abc")}
    stretch = SimpleNamespace(engine="waveform", t=t, signals={
        "bus": volts, "inverter": {"frequency": np.full(len(t), HZ) if frequency is None else frequency(t)}})
    case = SimpleNamespace(study=SimpleNamespace(detail_s=[list(span) for span in spans]),
                           nodes=[SimpleNamespace(name="bus", island=0, frequency_hz=50.0)],
                           drives=[SimpleNamespace(name="inverter", node="bus")],
                           machines=[SimpleNamespace(name="pump", node="bus")])
    return SimpleNamespace(case=case, stretches=[stretch], settings={"bandwidth_hz": TOP})


def test_lines_and_distortion_are_read_back():
    """Five periods fit the span, so that order 19.4 stands on a line; 1e-3 for the straight line between samples."""
    found, = find_spectra(make(spans=((0.1, 0.1 + 5.5 / HZ),)))
    assert found.fundamental_hz == pytest.approx(HZ) and found.fundamental == pytest.approx(3300.0, rel=1e-3)
    for order, rms in LINES.items():
        k = int(np.argmin(np.abs(found.hz - order * HZ)))
        assert found.hz[k] == pytest.approx(order * HZ) and found.amplitude[k] == pytest.approx(rms, rel=2e-3)
    assert found.distortion == pytest.approx(np.hypot(165.0, 82.5) / 3300.0, rel=2e-3)
    told, = describe_spectra([found])
    assert [round(line["order"], 3) for line in told["largest"]] == [5.0, 19.4]
    assert told["largest"][0]["share_pct"] == pytest.approx(5.0, rel=2e-3)


@pytest.mark.parametrize("made", [make(spans=((0.1, 0.13),)), make(spans=()), make(spans=((0.6, 0.8),)),
                                  make(frequency=lambda t: HZ * (1.0 + 0.1 * t))])
def test_short_absent_or_unsteady_spans_give_none(made):
    assert find_spectra(made) == []
