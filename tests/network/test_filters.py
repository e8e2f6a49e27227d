"""Filters of a drive, composed of series reactors and shunts: gains and a ring against closed forms."""

import numpy as np
import pytest
from engines.circuits import TURN, build, grid, make_constant, make_ideal, run_waveform, shunt, write

from sim.phasors.nodal import nodal_matrix

REACTANCE, QUALITY, FARADS, DAMPING = 0.67, 60.0, 40e-6, 1.5
INDUCTANCE, COIL_LOSS = REACTANCE / TURN, REACTANCE / QUALITY
RESONANCE = 1.0 / np.sqrt(INDUCTANCE * FARADS)


def coil(**more):
    return write("[[series_reactor]]", name="coil", from_="bus", to="out", reactance_ohm=REACTANCE, quality=QUALITY,
                 high_frequency_quality=1e9, **more)


def string(**more):
    """Capacitors with a resistor in a string."""
    return shunt("out", connection="series", capacitance_uf=1e6 * FARADS, **{"resistance_ohm": DAMPING, **more})


def gain(network, w, row=0):
    """Voltage behind the filter over that before it, nothing else connected."""
    start, end = (network.node_names.index(name) for name in ("bus", "out"))
    y = nodal_matrix(network, 1j * w * np.ones(1), network.closed, row)
    return -y[end, start] / y[end, end]


def stray(network, row=0):
    """What the network has of its own from the node behind the filter to earth. [F]"""
    return network.tables.nodes.c[row][network.node_names.index("out")]


def divide(w, inductance, stray, farads=FARADS):
    """The same by hand: a coil with its loss, then a capacitor with a resistor, the stray capacitance beside them."""
    s = 1j * w
    across = s * stray + (s * farads / (1.0 + s * farads * DAMPING) if farads else 0.0)
    return 1.0 / (1.0 + across * (COIL_LOSS + s * inductance))


@pytest.mark.parametrize("share", (0.1, 0.9, 1.0, 1.1, 3.0, 10.0))
def test_sine_filter_follows_its_divider(share):
    """1e-9: rounding, at a resonance of five times the voltage."""
    _, network = build(grid(), coil(), string(earthed=False))
    w = share * RESONANCE
    assert stray(network) < 1e-4 * FARADS
    assert gain(network, w) == pytest.approx(divide(w, INDUCTANCE, stray(network)), rel=1e-9)


def test_damping_sets_the_height_of_the_resonance():
    """At 1/sqrt(L C): |(R - j Z)/(R + r)| with Z = sqrt(L/C), r the coil's resistance (any text on circuits).

    1e-3: the stray, 2.5e-5 of C, shifts the resonance by half of that, a thousandth of its width at the least damping.
    """
    surge = np.sqrt(INDUCTANCE / FARADS)
    for damping in (0.1, 1.5, 4.0):
        _, network = build(grid(), coil(), string(earthed=False, resistance_ohm=damping))
        assert abs(gain(network, RESONANCE)) == pytest.approx(np.hypot(damping, surge) / (damping + COIL_LOSS),
                                                              rel=1e-3)


def test_far_above_its_resonance_a_filter_falls_by_the_square_and_its_resistor_ends_that():
    """Without resistor 1/((w/w0)^2 - 1); with one of R the gain tends to R/(w L): a dv/dt filter's first order.

    1e-3: the stray and the last of the resistor.  5e-3: the capacitor in front of 20 ohm, which takes 1/400 off the
    coil's reactance and adds (1/(w R C))^2/2 = 2e-4.
    """
    w = 20.0 * RESONANCE
    _, plain = build(grid(), coil(), string(earthed=False, resistance_ohm=1e-4))
    assert abs(gain(plain, w)) == pytest.approx(1.0 / (20.0**2 - 1.0), rel=1e-3)
    _, slope = build(grid(), coil(), string(earthed=False, resistance_ohm=20.0))
    assert abs(gain(slope, w)) == pytest.approx(20.0 / np.hypot(20.0, w * INDUCTANCE), rel=5e-3)


def test_common_mode_coil_acts_on_the_zero_sequence_alone():
    """A coil of a hundred times the reactance there; with the star point free only strays lie behind it."""
    zero, w = 100.0 * REACTANCE, TURN * 20.0
    for earthed, farads in ((True, FARADS), (False, 0.0)):
        _, network = build(grid(), coil(zero_reactance_ohm=zero), string(earthed=earthed))
        assert gain(network, w) == pytest.approx(divide(w, INDUCTANCE, stray(network)), rel=1e-9)
        by_hand = divide(w, zero / TURN, stray(network, 1), farads)
        assert gain(network, w, row=1) == pytest.approx(by_hand, rel=1e-9)
        assert abs(by_hand) < 0.01 if earthed else abs(by_hand) > 0.98


def test_a_step_rings_as_the_roots_of_the_series_circuit():
    """L, r + R and C at a direct voltage V from rest: i = V/(L wd) exp(-a t) sin(wd t), v = V - r i - L di/dt.

    1e-3 of V: order 2 at 200 steps a period of the ring, (w h)^2/12 = 1e-4 for each of ten radians watched.
    """
    volts, a = 1000.0, (COIL_LOSS + DAMPING) / (2.0 * INDUCTANCE)
    wd = np.sqrt(RESONANCE**2 - a * a)
    _, network = build(grid(), coil(), string(earthed=False))
    make_ideal(network)
    make_constant(network, volts)
    run = run_waveform(network, 10.0 / wd, 2.0 * np.pi / wd / 200.0)
    t, ring = run.t, np.exp(-a * run.t)
    amps = volts / (INDUCTANCE * wd) * ring * np.sin(wd * t)
    slope = volts / INDUCTANCE * ring * (np.cos(wd * t) - a / wd * np.sin(wd * t))
    exact = volts - COIL_LOSS * amps - INDUCTANCE * slope
    found = run.v[:, network.node_names.index("out"), 0]
    assert np.abs(found - exact).max() < 1e-3 * volts
