"""A gap that races against its recovery voltage interrupts a current zero up to a steepness, whatever the step.

The steady current of an inductive load passes its zeros with the slope w I: a case decides by its own numbers whether
the gap can quench it.
"""

import numpy as np
import pytest
from engines.circuits import CREST, breaker, event, grid, make_case, node, phases, shunt

from sim.engines.run.timeline import simulate

W = 100.0 * np.pi
MVA, COIL = 500.0, 20e-3
SUPPLY = 100.0 / MVA * (1.0 + 10j) / np.hypot(1.0, 10.0)
OHM = 0.05


def run(quench, step_us, **more):
    """Three coils to earth, cut off by a gap that stands any voltage soon after its contacts part."""
    case = make_case(grid(mva=MVA), breaker(recovery_start_kv=500.0, recovery_rise_kv_per_ms=1e3,
                                            quench_a_per_us=1e-6 * quench, **more), node("head", stray_nf=1000.0),
                     shunt("head", connection="series", resistance_ohm=OHM, inductance_mh=1e3 * COIL),
                     event(0.0202, "open"), duration=0.05, waveform_step_us=step_us)
    return simulate(case, "waveform")


def zero_slope():
    """Of the steady current at its zeros: crest times angular frequency; the strays of 1 uF take 0.2 % of it. [A/s]"""
    across = 1.0 / (1.0 / (OHM + 1j * W * COIL) + 1j * W * 1e-6)
    return W * CREST * 1e4 / abs(SUPPLY + across)


def opened(result):
    return sorted((one.pole, one.opened) for one in result.interruptions if one.opened is not None)


@pytest.mark.parametrize("share", [1.02, 0.98])
def test_gap_quenches_up_to_its_slope_whatever_the_step(share):
    """2 % below the slope of the zero nothing interrupts, 2 % above it every pole does at the first zero it meets.

    At steps of 1, 2 and 5 us; the zeros are located to 1e-4 of a step's change.  Between its first and the third zero
    of a pole the current is the same sine: phases are independent.
    """
    found = [opened(run(share * zero_slope(), step)) for step in (1.0, 2.0, 5.0)]
    if share < 1.0:
        assert found == [[], [], []]
        return
    for poles in found:
        assert [pole for pole, _ in poles] == ["a", "b", "c"]
        assert [at for _, at in poles] == pytest.approx([at for _, at in found[0]], abs=1e-6)
        assert all(0.0202 < at < 0.0302 for _, at in poles)


def test_current_passes_its_zeros_with_the_slope_of_its_phasor():
    """What the gap is asked to quench is in the run what the phasor says."""
    t, i = phases(run(0.5 * zero_slope(), 2.0), "gear", "current")
    steepest = np.abs(np.diff(i, axis=0)).max(axis=0) / np.diff(t).max()
    assert steepest == pytest.approx(np.full(3, zero_slope()), rel=2e-3)
