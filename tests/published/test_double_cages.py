"""Torque of double-cage rotors."""

import numpy as np
import pytest

from sim.params.motor import circuit as ec

from .circuits import make_circuit

SOURCE = ("A. Salam, Fundamentals of Electrical Machines, example 8.4 (p. 281); "
          "K. Srivastava, Electrical Machines, example 5.29 (p. 278)")
# Values read in a public collection of re-worked text-book examples, recomputed.  The starting values of the
# second example are computed from its data, not printed.


@pytest.mark.parametrize("slip, watts", [(1.0, 31089.0), (0.06, 15982.0)])
def test_synchronous_watts_of_a_rotor_alone(slip, watts):
    """Salam: 120 V per phase on the rotor, inner cage 0.04 + j0.5, outer 0.4 + j0.2 ohm, stator ignored."""
    circuit = make_circuit(0.0, 0.0, np.inf, 0.04, 0.5, second=(0.4, 0.2))
    supply = ec.make_supply(120.0 * np.sqrt(3.0), 50.0, 4, 50.0)
    assert ec.air_gap_power(circuit, supply, slip) / 3.0 == pytest.approx(watts, abs=0.5)


def test_torque_behind_a_stator():
    """Srivastava: 440 V per phase, 4 poles, stator 0.2 + j2, inner 0.5 + j5, outer 2.5 + j1 ohm."""
    circuit = make_circuit(0.2, 2.0, np.inf, 0.5, 5.0, second=(2.5, 1.0))
    supply = ec.make_supply(440.0 * np.sqrt(3.0), 50.0, 4, 50.0)
    # printed to five digits, the example rounds its impedances to three: 0.5 %; it agrees to 0.05 %
    assert ec.air_gap_torque(circuit, supply, 0.05) == pytest.approx(296.11, rel=5e-4)
    start = ec.locked_rotor(circuit, supply)
    assert start.torque == pytest.approx(387.1, abs=0.05)
    assert start.current == pytest.approx(116.9, abs=0.05)
