"""Running point, breakdown and start of a six-pole motor."""

import numpy as np
import pytest

from sim.params.motor import circuit as ec

from .circuits import make_circuit

SOURCE = "A. E. Fitzgerald, C. Kingsley, S. D. Umans, Electric Machinery, examples 6.2 and 6.3 (p. 320, 325)"
# Values read in a public collection of re-worked text-book examples, recomputed.

CIRCUIT = make_circuit(0.294, 0.503, 13.25, 0.144, 0.209)
SUPPLY = ec.make_supply(220.0, 60.0, 6, 60.0)
ROTATIONAL_LOSS = 403.0
ROUNDED = 5e-3    # the example rounds to three digits at each step


def test_at_two_per_cent_slip():
    slip = 0.02
    power = ec.shaft_power(CIRCUIT, SUPPLY, slip) - ROTATIONAL_LOSS
    current, factor = abs(ec.stator_current(CIRCUIT, SUPPLY, slip)), ec.power_factor(CIRCUIT, SUPPLY, slip)
    speed = (1.0 - slip) * SUPPLY.synchronous_speed
    assert current == pytest.approx(18.8, abs=0.05)
    assert factor == pytest.approx(0.846, rel=ROUNDED)
    assert power == pytest.approx(5221.6, rel=ROUNDED)
    assert power / speed == pytest.approx(42.4, rel=ROUNDED)
    assert power / (np.sqrt(3.0) * 220.0 * current * factor) == pytest.approx(0.86, abs=5e-3)
    assert ec.slip_at_power(CIRCUIT, SUPPLY, power + ROTATIONAL_LOSS) == pytest.approx(slip, rel=1e-9)


def test_breakdown_and_start():
    top = ec.breakdown(CIRCUIT, SUPPLY)
    assert top.torque == pytest.approx(175.0, rel=ROUNDED)
    assert (1.0 - top.slip) * 1200.0 == pytest.approx(970.0, abs=5.0)        # printed to 10 rpm
    assert ec.locked_rotor(CIRCUIT, SUPPLY).torque == pytest.approx(77.6, rel=ROUNDED)


def test_rotor_current_at_start():
    """150 A in the rotor; the stator's own current, 152.6 A, is not printed but computed from the data."""
    current = ec.stator_current(CIRCUIT, SUPPLY, 1.0)
    rotor = current * 13.25j / (0.144 + 13.459j)
    assert abs(rotor) == pytest.approx(150.0, rel=ROUNDED)
    assert abs(current) == pytest.approx(152.6, abs=0.05)
