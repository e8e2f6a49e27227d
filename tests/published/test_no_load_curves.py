"""Magnetisation of a published machine: its no-load current at voltages between the points of the curve.

Sources
-------
S. P. Singh, B. Singh, M. P. Jain, "Performance characteristics and optimum utilization of a cage machine as capacitor
excited induction generator", IEEE Trans. Energy Conversion 5, 1990, and papers after it, for a cage machine of 3.7 kW,
415 V, 50 Hz: gap voltage per phase against saturated magnetising reactance in three straight pieces (from memory, to be
checked; the pieces meet to 0.01 V, which a slip of memory would hardly do).  Stator resistance and leakage are 0.053
and 0.087 per unit there.
"""

from math import sqrt

import numpy as np
import pytest
from studies.arrangements import grid, make, motor

from sim.params.motor.knees import find_main_path
from sim.params.motor.no_load import Stator, find_no_load_current
from sim.studies.survey.study import survey

VOLTS, UNSATURATED = 415.0, 108.0
PIECES = ((344.411, 1.61), (465.12, 3.077), (579.897, 4.278))          # E = a - b X_m [V, V/ohm]
BASE = VOLTS**2 / 3.7e3
RESISTANCE, REACTANCE = 0.053 * BASE, 0.087 * BASE
CORNERS = (211.92, 171.05, 117.87)                                     # V per phase


def draw_current(gap):
    """Magnetising current at a gap voltage per phase [V]: E/X_m. [A]"""
    if gap <= CORNERS[2]:
        return gap / UNSATURATED
    a, b = PIECES[0] if gap >= CORNERS[0] else PIECES[1] if gap >= CORNERS[1] else PIECES[2]
    return gap / ((a - gap) / b)


def list_points(shares):
    """Terminal voltage [% of rated] and current [A] at no load: V = E + (R + jX)(-j i), by interpolation over E."""
    gaps = np.linspace(1.0, 290.0, 30001)
    own = np.array([draw_current(gap) for gap in gaps])
    terminal = np.abs(gaps + complex(RESISTANCE, REACTANCE) * -1j * own)
    return [float(np.interp(share / 100.0 * VOLTS / sqrt(3.0), terminal, own)) for share in shares]


def describe(shares, **more):
    """Survey of the machine with the curve at some voltages."""
    circuit = {"stator_resistance_ohm": RESISTANCE, "stator_reactance_ohm": REACTANCE,
               "rotor_resistance_ohm": 0.061 * BASE, "rotor_reactance_ohm": REACTANCE, **more}
    machine = motor("bus", kv=0.415, kw=3.7, circuit=circuit, no_load_voltage_pct=[float(share) for share in shares],
                    no_load_current_a=list_points(shares), inertia=0.1)
    return survey(make(grid(kv=0.415), machine))["machines"]["pump"]


def test_pieces_meet():
    for (a, b), (c, d), corner in zip(PIECES, PIECES[1:], CORNERS):
        reactance = (c - a) / (d - b)
        assert a - b * reactance == pytest.approx(corner, abs=0.02)
    assert PIECES[2][0] - PIECES[2][1] * UNSATURATED == pytest.approx(CORNERS[2], abs=0.01)


@pytest.mark.parametrize("shares", [(20, 40, 50, 60, 70, 80, 90, 100, 110, 120), (40, 60, 80, 100, 110, 120),
                                    tuple(range(20, 126, 5))])
def test_curve_comes_back_at_its_points(shares):
    found = describe(shares)
    # the survey solves the stamped circuit with its knees; of many points six bends are left
    assert found["no_load_curve_error_pct"] < 3.0
    assert found["no_load_current_a"] == pytest.approx(list_points([100.0])[0], rel=0.03)
    rated = 3.7e3 / (0.95 * 0.88) / (sqrt(3.0) * VOLTS)
    currents = [found[f"no_load_at_{share}_current_pct"] / 100.0 * rated for share in (80, 110, 120)]
    assert currents == pytest.approx(list_points([80.0, 110.0, 120.0]), rel=0.03)


@pytest.mark.parametrize("share", [75, 95, 105, 115])
def test_current_between_the_points(share):
    shares = (20, 40, 50, 60, 70, 80, 90, 100, 110, 120)
    stator = Stator(RESISTANCE, REACTANCE, 0.0, VOLTS)
    path = find_main_path([VOLTS * each / 100.0 for each in shares], list_points(shares), stator).path
    assert path.reactance == pytest.approx(UNSATURATED, rel=2e-3)
    # chords over 10 % of voltage lie above the curve by up to 2 %
    found = find_no_load_current(path, stator, VOLTS * share / 100.0)
    assert found == pytest.approx(list_points([share])[0], rel=0.02)
