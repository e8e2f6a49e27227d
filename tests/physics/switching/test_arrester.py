"""Surge arresters: a supply that they clip, a wave at the end of a line, a surge of L and C.

The references take the chords of the case's own record; the given points are among them.
"""

import numpy as np
import pytest
from energy_books import lost_share
from engines.circuits import (
    CREST,
    arrester,
    breaker,
    build,
    cable,
    event,
    grid,
    make_case,
    make_constant,
    make_ideal,
    node,
    phases,
    run_waveform,
    shunt,
)
from reference import clamp

from sim.engines.run.timeline import simulate

W, TURNS = 100.0 * np.pi, np.array([0.0, -1.0, 1.0]) * 2.0 * np.pi / 3.0
CURVE = {"curve_kv": [7.0, 7.6, 8.2, 9.0], "curve_a": [0.0, 1.0, 100.0, 5000.0]}


def read_curve(case):
    record = case.arresters[0]
    return clamp.Curve(np.array(record.curve_v), np.array(record.curve_a))


def test_chords_pass_through_the_given_points():
    case = make_case(grid(), arrester("bus", 7.5, **CURVE))
    curve = read_curve(case)
    for volts, amps in zip(CURVE["curve_kv"], CURVE["curve_a"]):
        assert np.interp(1e3 * volts, curve.volts, curve.amps) == pytest.approx(amps, abs=1e-9)
    assert curve.amps[0] == 0.0


MVA, X_OVER_R, FARAD, STRAY = 20.0, 5.0, 2e-6, 1e-9
Z = 100.0 / MVA * (1.0 + 1j * X_OVER_R) / np.hypot(1.0, X_OVER_R)


@pytest.fixture(scope="module")
def clipped():
    """A supply at 1.2 pu, 2 uF beside the arresters: without them 9.8 kV crest, with them they conduct from 7 kV.

    It starts at the zero of phase a, where no phase is far above that.
    """
    case = make_case(grid(mva=MVA, x_over_r=X_OVER_R, voltage_pu=1.2, phase_deg=90.0),
                     shunt("bus", capacitance_uf=1e6 * FARAD), arrester("bus", 7.5, **CURVE), duration=0.03,
                     waveform_step_us=2.0)
    return case, simulate(case, "waveform")


@pytest.mark.parametrize("phase", [0, 1, 2])
def test_clipped_supply(clipped, phase):
    """The run starts from the steady state without arresters.  The first 0.1 ms, in which they pull the voltage down,
    are left out; afterwards 2 us follow swings of 1 ms to (w0 h)^2/12 = 1e-5, kinks of the curve to some 1e-4."""
    case, result = clipped
    t, v = phases(result, "bus")
    _, i = phases(result, "arrester", "current")
    emf = 1.2j * CREST * 1e4 * np.exp(1j * TURNS[phase])
    y = 1j * W * (FARAD + STRAY)
    voltage = emf / (1.0 + Z * y)
    expected = clamp.surge(read_curve(case), lambda time: np.real(emf * np.exp(1j * W * time)), Z.real, Z.imag / W,
                           FARAD + STRAY, np.append(0.0, t), (voltage * y).real, voltage.real)
    later = t > 1e-4
    assert np.abs(expected.voltage[1:] - v[:, phase])[later].max() < 5e-4 * CREST * 1e4
    assert np.abs(expected.clamp[1:] - i[:, phase])[later].max() < 5e-3 * np.abs(expected.clamp[1:][later]).max()
    assert result.arresters["arrester"].energy[phase] == pytest.approx(expected.taken[-1], rel=1e-3)
    assert result.arresters["arrester"].peak_current >= np.abs(i[later, phase]).max()


def test_clipping_closes_the_energy_balance(clipped):
    _, result = clipped
    assert lost_share(result) < 1.2e-6
    t, v = phases(result, "bus")
    _, i = phases(result, "arrester", "current")
    taken = np.trapezoid(v * i, t, axis=0)
    assert taken == pytest.approx(result.arresters["arrester"].energy, rel=5e-3)      # trapezoids of 20 us


def test_wave_at_the_end_of_a_line():
    """A step E runs along a line of surge impedance Z: at the arrester behaves as 2 E behind Z, u + Z i(u) = 2 E.

    The plateau is read between the front and its reflection from the source.  What the arrester cuts off the front
    holds frequencies beyond the cable's band: 0.3 % of ripple around the plateau, 0.1 % of its mean.
    """
    step, h = 12e3, 1.0 / (50.0 * 5e3)
    case, network = build(grid(mva=1e5), breaker(closed=False), node("head", stray_nf=0.01),
                          node("tail", stray_nf=0.01), cable(km=60.0, resistance_ohm_per_km=1e-6,
                                                             zero_resistance_ohm_per_km=1e-6,
                                                             zero_inductance_mh_per_km=0.41),
                          arrester("tail", 10.0, curve_kv=[12.0, 14.0, 18.0], curve_a=[0.0, 50.0, 2000.0]))
    make_ideal(network)
    make_constant(network, step)
    surge = np.sqrt(0.41e-3 / 0.18e-6)
    travel = 60.0 * np.sqrt(0.41e-3 * 0.18e-6)
    run = run_waveform(network, 2.9 * travel, h, close=["gear"])
    plateau = (run.t > 2.2 * travel) & (run.t < 2.8 * travel)
    # phase a stands at E, b and c at minus half of it
    for phase, emf in enumerate([step, -0.5 * step, -0.5 * step]):
        expected = clamp.clamp_voltage(read_curve(case), 2.0 * emf, surge)
        got = run.v[plateau, network.node_names.index("tail"), phase]
        assert got == pytest.approx(float(expected), rel=5e-3)
        assert got.mean() == pytest.approx(float(expected), rel=1e-3)
    assert clamp.clamp_current(read_curve(case), clamp.clamp_voltage(read_curve(case), 2.0 * step, surge)) > 100.0


def test_surge_of_a_bank_into_arresters():
    """20 uF closed on to a supply of 1 ohm at the crest of phase a: the swing to 2 pu is cut at 1.5.

    Phase by phase against the circuit solved on its own, closed at the order; the contact's sweep of 48 steps of 0.5 us
    shifts this by up to 10 us, a hundredth of a radian of the 1.2 ms swing: 1 % of the energy, next to nothing of the
    crest, which the curve sets.
    """
    source = 100.0 / 100.0 * (1.0 + 10j) / np.hypot(1.0, 10.0)
    at, farad = 0.02, 20e-6
    case = make_case(grid(mva=100.0), breaker(closed=False), node("head", stray_nf=0.01),
                     shunt("head", capacitance_uf=1e6 * farad),
                     arrester("head", 9.0, curve_kv=[11.0, 12.0, 13.0], curve_a=[0.0, 100.0, 1e4]), event(at, "close"),
                     duration=0.03, waveform_step_us=0.5)
    result = simulate(case, "waveform")
    t, v = phases(result, "head")
    duty = result.arresters["arrester"]
    later = t >= at
    for phase in range(3):
        expected = clamp.surge(read_curve(case), lambda time, k=phase: CREST * 1e4 * np.cos(W * time + TURNS[k]),
                               source.real, source.imag / W, farad, np.append(at, t[later]))
        assert np.abs(v[:, phase]).max() == pytest.approx(np.abs(expected.voltage).max(), rel=2e-3)
        assert duty.energy[phase] == pytest.approx(expected.taken[-1], rel=0.02, abs=0.02 * max(duty.energy))
    assert duty.energy[0] > 100.0 and duty.peak_voltage == pytest.approx(np.abs(v).max(), rel=1e-3)
    assert lost_share(result) < 2.5e-7


def test_arrester_at_service_voltage_does_nothing():
    """Default curve of a 12 kV arrester on 10 kV: milliamperes at the most, no losses that count."""
    result = simulate(make_case(grid(), arrester("bus", 12.0), duration=0.04, bandwidth_khz=1.0), "waveform")
    _, i = phases(result, "arrester", "current")
    assert np.abs(i).max() < 0.01
    assert sum(result.arresters["arrester"].energy) < 1.0
    assert result.energy.residual_pct < 2e-3        # nothing changes: of what went to and fro, measured 5e-4
