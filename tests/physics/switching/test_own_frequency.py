"""Point on wave and soft starters beside a grid of another frequency: each follows the voltage of its own island.

Angles are those of the grid's own cosine, V cos(2 pi f t + phase) of phase a; a resistor in earthed star makes every
pole a circuit of its own, whose current begins as the pole fires and ends at the zero of its voltage.
"""

import numpy as np
import pytest
from engines.circuits import CREST, breaker, event, grid, list_moments, make_case, phases, shunt, write

from sim.engines.run.timeline import simulate

HZ, PHASE, STEP = 60.0, 25.0, 1e-6
TURNS = np.array([0.0, -120.0, 120.0])
START, END, RAMP, ORDER = 110.0, 50.0, 0.6, 0.0123
LOAD = 50.0


def make_two_islands(*parts, duration):
    """The first island has 50 Hz and its own breaker, the second one 60 Hz."""
    first = (grid(), breaker(name="first", closed=False), shunt("head", resistance_ohm=LOAD),
             event(ORDER, "close", "first"))
    return make_case(*first, grid("ship", mva=1e6, name="other", frequency_hz=HZ, phase_deg=PHASE), *parts,
                     shunt("load", name="star", resistance_ohm=LOAD), event(ORDER, "close"), duration=duration,
                     waveform_step_us=1e6 * STEP)


def own_angle(t):
    """Angle of each phase of the second grid from its rising zero, shape (..., 3). [deg]"""
    return 360.0 * HZ * np.asarray(t)[..., None] + PHASE + 90.0 + TURNS


def wrap(angle, turn):
    """Into half a turn to either side of nothing."""
    return (angle + 0.5 * turn) % turn - 0.5 * turn


@pytest.mark.parametrize("angle", [0.0, 90.0, 200.0])
@pytest.mark.parametrize("delays", [(0.0, 0.0, 0.0), (0.0, 5.5, 2.75)])
def test_poles_close_at_the_angle_of_their_own_voltage(angle, delays):
    """Pole a at the angle asked for within a step, in the first turn after the order; b and c after their delays."""
    case = make_two_islands(breaker("ship", "load", closed=False, closing_angle_deg=angle,
                                    closing_delays_ms=list(delays)), duration=0.05)
    closed = dict((phase, t) for t, phase in list_moments(simulate(case), "pole_close"))
    assert ORDER - 1e-4 < closed[0] < ORDER + 1.0 / HZ
    a, least = own_angle(closed[0])[0], 360.0 * HZ * STEP
    assert wrap(a - angle, 360.0) == pytest.approx(0.0, abs=1.5 * least)
    assert [closed[p] - closed[0] for p in range(3)] == pytest.approx(1e-3 * np.array(delays), abs=1.5 * STEP)


def test_a_soft_starter_fires_every_half_cycle_of_its_own_voltage():
    """Current begins at the firing angle after each zero of the phase's own voltage, and the angle falls along its
    ramp; with half cycles of 50 Hz it would come 30 degrees of 60 Hz later each time."""
    soft = write("[breaker.soft_start]", start_angle_deg=START, end_angle_deg=END, ramp_s=RAMP)
    result = simulate(make_two_islands(breaker("ship", "load", closed=False) + soft, duration=0.12))
    t, amps = phases(result, "gear", "current")
    full, slope = CREST * 1e4 / LOAD, (END - START) / RAMP
    for pole in range(3):
        angle = own_angle(t)[:, pole]
        carries = np.abs(amps[:, pole]) > 0.5 * full * np.abs(np.sin(np.radians(angle)))
        begins = np.flatnonzero(carries[1:] & ~carries[:-1] & (np.abs(wrap(angle[1:], 180.0)) > 30.0)) + 1
        assert len(begins) >= 11
        fired, found = t[begins], angle[begins] % 180.0
        assert found[0] == pytest.approx(START, abs=0.5)
        assert found == pytest.approx(found[0] + slope * (fired - fired[0]), abs=0.5)
        assert np.diff(fired) == pytest.approx((0.5 + slope * 0.5 / HZ / 360.0) / HZ, abs=3e-5)
