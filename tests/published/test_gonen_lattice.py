"""Waves on a line after a step, counted on a lattice diagram."""

import numpy as np
import pytest
from reference import line

SOURCE = "T. Gonen, Electric Power Transmission System Engineering, examples 7.4 and 7.6 (p. 366)"
# Values read in a public collection of re-worked text-book examples (7.6: up to 7T, the last two recomputed).


def test_step_into_line_with_resistance_at_the_end():
    """Example 7.6: 1000 V, zero source impedance, surge impedance 40 ohm, 60 ohm at the end."""
    _, far = line.lattice(1000.0, 40.0, 0.0, 60.0, 6)
    printed = [1200.0, 960.0, 1008.0, 998.4, 1000.32, 999.94]
    assert np.allclose(far[:5], printed[:5], rtol=1e-12)            # exact decimals
    assert far[5] == pytest.approx(printed[5], abs=5e-3)


def test_same_plateaus_from_the_two_port():
    """The exact two-port, inverted numerically midway between arrivals."""
    travel = 1e-4
    uniform = line.Line(0.0, 40.0 * travel / 20e3, travel / 40.0 / 20e3, 20e3)

    def image(s):
        return 1000 * line.transfer(uniform, s, 0, 1 / (60 + 0 * s)).far_voltage / s

    got = line.invert_precisely(image, np.array([2.0, 4.0]) * travel)
    # Fourier sum of a jump: 0.3 % of the 1000 V step
    assert np.allclose(got, [1200.0, 960.0], rtol=0.0, atol=3.0)


def test_resistance_at_the_end_of_a_line():
    """Example 7.4: 5 kV wave on 400 ohm meets 500 ohm."""
    assert line.reflection(400.0, 500.0) == pytest.approx(1.0 / 9.0, rel=1e-12)
    voltage = 5000.0 * line.refraction(400.0, 500.0)
    assert voltage == pytest.approx(5555.56, abs=5e-3)
    assert voltage / 500.0 == pytest.approx(11.11, abs=5e-3)
