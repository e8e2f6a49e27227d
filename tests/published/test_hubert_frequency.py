"""Locked-rotor current at another voltage and frequency."""

import numpy as np
import pytest

from sim.params.motor import circuit as ec

from .circuits import make_circuit

SOURCE = "C. I. Hubert, Electric Machines: Theory, Operation, Applications, examples 5.7 and 5.8 (p. 173-231)"
# Values read in a public collection of re-worked text-book examples, recomputed.


def test_locked_rotor_current_scales_with_volts_per_hertz():
    """151 A at 230 V, 60 Hz becomes 173.3 A at 220 V, 50 Hz when reactance alone limits it."""
    reactance = 230.0 / np.sqrt(3.0) / 151.0
    circuit = make_circuit(0.0, 0.5 * reactance, np.inf, 1e-6, 0.5 * reactance)
    known = ec.locked_rotor(circuit, ec.make_supply(230.0, 60.0, 4, 60.0))
    asked = ec.locked_rotor(circuit, ec.make_supply(220.0, 50.0, 4, 60.0))
    assert known.current == pytest.approx(151.0, rel=1e-6)
    assert asked.current == pytest.approx(173.3, abs=0.05)
