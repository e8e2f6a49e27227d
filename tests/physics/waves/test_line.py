"""Travelling waves of the waveform engine against closed forms, a published lattice and a Laplace inversion.

The switched cases hang on a direct voltage behind (almost) nothing.  A pole closes with a front of finite rise
(CLOSING_OHM in sim/engines/waveform/gear.py), so plateaus are compared where the front has passed.
"""

import mpmath
import numpy as np
import pytest
from engines.circuits import breaker, build, cable, grid, level, make_constant, make_ideal, node, run_waveform, shunt

STEP = 1000.0                                   # [V]
KM, L, C = 120.0, 0.4e-6, 0.25e-9               # surge impedance 40 ohm, 100 000 km/s, travel time 1.2 ms
LINE = {"inductance_mh_per_km": L * 1e6, "capacitance_uf_per_km": C * 1e9}
TRAVEL = KM * 1e3 * np.sqrt(L * C)
SMALL = node("bus", stray_nf=0.01) + node("head", stray_nf=0.01) + node("tail", stray_nf=0.01)
LEAST_R = 1e-6                                  # smallest resistance a case takes [ohm/km]: 1e-4 ohm in all
DISPERSION = 1e-3   # the front is cut at the cable's bandwidth: ripple on a plateau, of the step (0.05 % measured)


def switched(*parts, km=KM, duration=4 * TRAVEL, **line):
    """Voltage of phase a at head and tail of a line that is switched on a direct voltage; t = 0 at half front."""
    _, network = build(grid(mva=1e5), breaker(closed=False), SMALL, *parts,
                       cable(km=km, **{"resistance_ohm_per_km": LEAST_R, **LINE, **line}), bandwidth_khz=5.0)
    make_ideal(network)
    make_constant(network, STEP)
    run = run_waveform(network, duration, close=["gear"])
    head, tail = (run.v[:, network.node_names.index(name), 0] for name in ("head", "tail"))
    return run.t - np.interp(0.5 * STEP, head[:100], run.t[:100]), head, tail


def plateau(t, values, k):
    """Mean between the fronts that arrive after k and k + 2 travel times."""
    return level(t, values, (k + 0.3) * TRAVEL, (k + 1.7) * TRAVEL)


def test_open_end_doubles():
    """Reflection factor +1 at an open end, -1 at the source: 2, 0, 2 times the step; any text on waves.

    The plateau is met to 0.01 % (rest of the front's ripple, mean), its highest point to the dispersion.
    """
    t, _, tail = switched(duration=7 * TRAVEL)
    assert plateau(t, tail, 1) == pytest.approx(2.0 * STEP, rel=1e-4)
    assert plateau(t, tail, 3) == pytest.approx(0.0, abs=1e-4 * 2.0 * STEP)
    assert tail[t < 2.9 * TRAVEL].max() == pytest.approx(2.0 * STEP, rel=DISPERSION)
    assert tail[t < 0.8 * TRAVEL] == pytest.approx(0.0, abs=DISPERSION * STEP)      # nothing before the wave


def test_wave_arrives_after_the_travel_time():
    """Half of the front at the open end one l sqrt(LC) after half of it at the head, within one step."""
    t, _, tail = switched()
    first = np.flatnonzero(tail > STEP)[0]
    arrival = np.interp(STEP, tail[first - 1:first + 1], t[first - 1:first + 1])
    assert arrival == pytest.approx(TRAVEL, abs=4e-6)


@pytest.mark.parametrize("resistance", [0.1, 0.5])
def test_distortionless_line_only_attenuates(resistance):
    """R/L = G/C (Heaviside): every wave keeps its shape and shrinks by exp(-sqrt(RG) l)."""
    conductance = resistance * 1e-3 * C / L
    t, _, tail = switched(resistance_ohm_per_km=resistance, conductance_us_per_km=1e9 * conductance)
    shrink = np.exp(-np.sqrt(resistance * 1e-3 * conductance) * KM * 1e3)
    assert plateau(t, tail, 1) == pytest.approx(2.0 * STEP * shrink, rel=1e-4)
    passed = (t > 1.2 * TRAVEL) & (t < 2.8 * TRAVEL)
    assert np.ptp(tail[passed]) < DISPERSION * 2.0 * STEP * shrink


def test_published_lattice():
    """T. Gonen, *Electric Power Transmission System Engineering*, example 7.6 (p. 366): 1000 V on a line of
    40 ohm with 60 ohm at its end, 1200, 960, 1008, 998.4 V after 1, 3, 5, 7 travel times; 1000.32 V after 9
    follows from the same factors.  The plateaus are met to 1e-5: the contact resistance of 50 uohm and the
    line's 1e-4 ohm are that small beside 40 ohm.
    """
    t, _, tail = switched(shunt("tail", resistance_ohm=60.0), duration=11 * TRAVEL)
    got = [plateau(t, tail, k) for k in (1, 3, 5, 7, 9)]
    np.testing.assert_allclose(got, [1200.0, 960.0, 1008.0, 998.4, 1000.32], rtol=1e-5)


def test_matched_end_swallows_the_wave():
    t, head, tail = switched(shunt("tail", resistance_ohm=40.0), duration=6 * TRAVEL)
    assert plateau(t, tail, 1) == pytest.approx(STEP, rel=1e-4)
    assert level(t, head, 2.3 * TRAVEL, 5.9 * TRAVEL) == pytest.approx(STEP, rel=1e-4)
    assert np.ptp(tail[t > 1.3 * TRAVEL]) < DISPERSION * STEP


def test_shorted_end_doubles_the_current():
    """The end of 1 mohm carries twice step over surge impedance after one travel time."""
    t, _, tail = switched(shunt("tail", resistance_ohm=1e-3), duration=2.9 * TRAVEL)
    assert plateau(t, tail, 1) / 1e-3 == pytest.approx(2.0 * STEP / np.sqrt(L / C), rel=1e-4)


R_SOURCE, L_SOURCE, LOSSY_KM, LOSSY_R = 20.0, 5e-3, 40.0, 2.0


def exact_response(times):
    """Open-end voltage of the lossy line behind R + L, by numerical inversion (de Hoog) of its transform."""
    r, length = LOSSY_R * 1e-3, LOSSY_KM * 1e3

    def transform(s):
        z, y = r + s * L, s * C
        angle = mpmath.sqrt(z * y) * length
        source = R_SOURCE + s * L_SOURCE
        return STEP / s / (mpmath.cosh(angle) + source * mpmath.sqrt(y / z) * mpmath.sinh(angle))

    return np.array([float(mpmath.invertlaplace(transform, t, method="dehoog")) for t in times])


@pytest.mark.parametrize("bandwidth, step, most", [(5.0, 4e-6, 2e-3), (20.0, 1e-6, 2e-4)])
def test_lossy_line_follows_its_laplace_transform(bandwidth, step, most):
    """Step behind 20 ohm and 5 mH onto 40 km of 2 ohm/km.  The kinks of the wave fronts hold frequencies above
    the bandwidth, so the error falls with it: 0.12 % of the step at 5 kHz, 0.01 % at 20 kHz measured.
    """
    line = cable("bus", km=LOSSY_KM, **LINE | {"resistance_ohm_per_km": LOSSY_R})
    _, network = build(grid(mva=1e5), node("bus", stray_nf=0.01), node("tail", stray_nf=0.01), line,
                       bandwidth_khz=bandwidth)
    make_ideal(network, resistance=R_SOURCE, inductance=L_SOURCE)
    make_constant(network, STEP)
    travel = LOSSY_KM * 1e3 * np.sqrt(L * C)
    times = travel * np.array([1.3, 1.7, 2.2, 2.8, 3.5, 4.4, 5.5, 7.0, 9.0])
    run = run_waveform(network, 9.2 * travel, step)
    got = np.interp(times, run.t, run.v[:, network.node_names.index("tail"), 0])
    assert np.abs(got - exact_response(times)).max() < most * STEP
