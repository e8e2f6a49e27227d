"""Free acceleration of the 3 and 50 hp machines, run as a case through the engines."""

import numpy as np
import pytest
from cross.casefile import join_signal, machine_table, make_case

from sim.engines.run.timeline import simulate

SOURCE = ("P. C. Krause, O. Wasynczuk, S. D. Sudhoff, Analysis of Electric Machinery, table of four machines; "
          "L. Wang, PhD thesis, University of British Columbia, about 2010, appendices D and F")
# The parameters are printed there.  The values below were computed from them outside this project with an
# eighth-order solver at 1e-10: rated voltage, va = sqrt(2/3) V cos(wt) on at t = 0, no load, stiff supply.
# Their tolerance: 1 % for peaks, 0.5 % for times.
PEAK, TIME = 1e-2, 5e-3

# hp: V line-to-line, rs, xls, xm, xlr, rr [ohm], J [kg m2]
MACHINES = {3: (220.0, 0.435, 0.754, 26.13, 0.754, 0.816, 0.089), 50: (460.0, 0.087, 0.302, 13.08, 0.302, 0.228, 1.662)}
# hp: largest |ia|, largest of any phase [A]; torque max [N m] at [s], min at [s]; 90 %, 95 % speed [s]
PRINTED = {3: (97.1, 102.6, 132.1, 0.0105, -22.1, 0.0193, 0.2937, 0.3340),
           50: (607.9, 673.1, 1654.5, 0.0109, -569.5, 0.0197, 0.4614, 0.5084)}
STIFF = 1e5     # short-circuit power over motor rating: changes the total reactance by 1e-4 at most
# the times of the torque's turning points carry three digits: half a unit of the last one is 0.05 ms


@pytest.fixture(scope="module")
def runs():
    return {hp: accelerate(hp) for hp in MACHINES}


def accelerate(hp):
    volts, rs, xs, xm, xr, rr, inertia = MACHINES[hp]
    kw = 0.7457 * hp
    grid = {"name": "supply", "node": "bus", "rated_kv": volts / 1e3, "frequency_hz": 60.0,
            "short_circuit_mva": STIFF * kw / 1e3}
    motor = machine_table("motor", "bus", (rs, xs, xm, rr, xr), inertia, {"kind": "none"}, rated_kw=kw,
                          rated_kv=volts / 1e3, frequency_hz=60.0, poles=4, winding_nf=0.0)
    return simulate(make_case({"duration_s": 0.6, "waveform_step_us": 20.0}, ("grid", grid), motor), "waveform")


@pytest.mark.parametrize("hp", MACHINES)
def test_free_acceleration(hp, runs):
    phase_a, any_phase, most, most_at, least, least_at, at90, at95 = PRINTED[hp]
    peaks = [np.abs(join_signal(runs[hp], "motor", f"current_{phase}")[1]).max() for phase in "abc"]
    assert peaks[0] == pytest.approx(phase_a, rel=PEAK)
    assert max(peaks) == pytest.approx(any_phase, rel=PEAK)
    t, torque = join_signal(runs[hp], "motor", "torque")
    assert torque.max() == pytest.approx(most, rel=PEAK)
    assert t[torque.argmax()] == pytest.approx(most_at, rel=TIME, abs=5e-5)
    early = t < 0.1
    assert torque[early].min() == pytest.approx(least, rel=PEAK)
    assert t[early][torque[early].argmin()] == pytest.approx(least_at, rel=TIME, abs=5e-5)
    t, speed = join_signal(runs[hp], "motor", "speed")
    for share, at in ((0.90, at90), (0.95, at95)):
        assert np.interp(share * 60.0 * np.pi, speed[t < 0.55], t[t < 0.55]) == pytest.approx(at, rel=TIME)
