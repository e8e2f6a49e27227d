"""Start, running point and breakdown of a single-cage motor."""

import numpy as np
import pytest

from sim.params.motor import circuit as ec

from .circuits import make_circuit

SOURCE = "I. J. Nagrath, D. P. Kothari, Electric Machines, example 9.6 (p. 151 of the collection's edition)"
# Values read in a public collection of re-worked text-book examples, recomputed.
# The example takes 231 V per phase for 400 V.

CIRCUIT = make_circuit(0.3, 0.6, 35.0, 0.25, 0.6)
SUPPLY = ec.make_supply(231.0 * np.sqrt(3.0), 50.0, 4, 50.0)
DIGITS = 2e-4     # printed to four or five digits; intermediate results of the example are rounded likewise
ROTATIONAL_LOSS = 1500.0


def test_start():
    start = ec.locked_rotor(CIRCUIT, SUPPLY)
    assert start.current == pytest.approx(176.48, rel=DIGITS)
    assert start.torque == pytest.approx(143.73, rel=DIGITS)


def test_running_at_1450_rpm():
    slip = 1.0 - 1450.0 / 1500.0
    gross = ec.air_gap_torque(CIRCUIT, SUPPLY, slip)
    net = gross - ROTATIONAL_LOSS / (1450.0 * np.pi / 30.0)
    assert abs(ec.stator_current(CIRCUIT, SUPPLY, slip)) == pytest.approx(29.95, rel=5e-4)     # half a unit
    assert ec.power_factor(CIRCUIT, SUPPLY, slip) == pytest.approx(0.939, abs=5e-4)
    # the example works on with a rounded current: twice 2e-4
    assert gross == pytest.approx(118.95, rel=5e-4)
    assert net == pytest.approx(109.07, rel=5e-4)


def test_breakdown():
    top = ec.breakdown(CIRCUIT, SUPPLY)
    assert top.torque == pytest.approx(324.6, rel=DIGITS)
    assert top.slip == pytest.approx(0.204, abs=5e-4)
