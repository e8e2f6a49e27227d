"""Waves passing between cable and overhead line, and the rise at an open end."""

import numpy as np
import pytest
from reference import line

SOURCE = ("V. Kamaraju, M. S. Naidu, High Voltage Engineering, examples 8.5 (p. 352) and 8.8; "
          "C. L. Wadhwa, High Voltage Engineering, example 7.2 (p. 222)")
# Values read in a public collection of re-worked text-book examples, recomputed.  Two printed figures there
# do not follow from their data: Wadhwa's 27.87 kV (27.84) and Kamaraju's 94.5 kV (12.82); the recomputed
# ones are used.


def per_km(millihenry, microfarad, km=1.0, ohm=0.0):
    return line.Line(ohm * 1e-3, millihenry * 1e-6, microfarad * 1e-9, km * 1e3)


def test_kamaraju_step_from_cable_into_line_and_back():
    cable, overhead = per_km(0.189, 0.3), per_km(1.26, 0.009)
    z_cable, z_line = line.surge_impedance(cable), line.surge_impedance(overhead)
    assert z_cable == pytest.approx(25.1, abs=0.05)
    assert 1e3 / line.travel_time(cable) == pytest.approx(1.328e8, rel=5e-4)
    assert 200.0 * line.refraction(z_cable, z_line) == pytest.approx(374.85, abs=5e-3)
    assert 200.0 * line.reflection(z_cable, z_line) == pytest.approx(174.85, abs=5e-3)
    assert 200.0 * line.refraction(z_line, z_cable) == pytest.approx(25.15, abs=5e-3)


def test_wadhwa_step_from_cable_into_line():
    z_cable = line.surge_impedance(per_km(0.3, 0.4))
    z_line = line.surge_impedance(per_km(1.5, 0.012))
    assert z_cable == pytest.approx(27.39, abs=5e-3)
    assert z_line == pytest.approx(353.6, abs=0.05)
    assert 15.0 * line.refraction(z_cable, z_line) == pytest.approx(27.84, abs=5e-3)


def test_rise_at_the_open_end_of_400_km():
    """230 kV, 400 km, 0.1 ohm, 1.26 mH and 0.009 uF per km, 50 Hz: voltage above that of the sending end."""
    phase = 230.0 / np.sqrt(3.0)
    assert line.ferranti(per_km(1.26, 0.009, 400.0), 50.0) == pytest.approx(1.09674, abs=5e-6)
    exact = per_km(1.26, 0.009, 400.0, ohm=0.1)
    assert phase * (line.ferranti(exact, 50.0) - 1.0) == pytest.approx(12.82, abs=5e-3)
    w = 2.0 * np.pi * 50.0
    nominal = phase * 0.5 * w**2 * 1.26e-3 * 0.009e-6 * 400.0**2
    assert nominal == pytest.approx(11.89, abs=0.01)        # half of (w l)^2 L C, first term of the series
