"""Powers of a point of an envelope stage: in a steady state all that sources deliver is lost or goes to the shafts."""

import numpy as np
import pytest
from engines.circuits import build, cable, grid, machine, shunt, steady_envelope, transformer

from sim.engines.envelope.engine import EnvelopeEngine
from sim.kernels.columns import ENERGY_DELIVERED, ENERGY_DISSIPATED, ENERGY_SHAFT, ENERGY_STEPS, ENERGY_THROUGHPUT
from sim.kernels.envelope import stage

pytestmark = pytest.mark.usefixtures("plain_python")


@pytest.mark.parametrize("parts", [
    (shunt("bus", resistance_ohm=20.0),), (cable("bus"), shunt("tail", resistance_ohm=30.0)),
    (transformer("bus", "low", to_kv=3.0), machine("low", kv=3.0))], ids=("resistor", "cable", "motor"))
def test_powers_of_a_steady_state_balance(parts):
    """Power from outside by the branch currents, losses by the conductances and resistances of every element."""
    network = build(grid(), *parts)[1]
    state, t = steady_envelope(network), network.tables
    push = np.zeros(len(t.links.start), complex)
    push[t.sources.link] = t.sources.volts * np.exp(1j * (state.phase - state.theta[t.sources.island]))
    torque, power = np.zeros(len(t.machines.node)), np.zeros(ENERGY_STEPS)
    stage.add_powers(t, EnvelopeEngine(network, 1e-4, 1e-3).closed, state.x, state.r, push, torque, 7.0, 0.5, power)
    assert power[ENERGY_DELIVERED] > 0.0 and power[ENERGY_SHAFT] == 0.0         # shafts at rest
    assert power[ENERGY_THROUGHPUT] == power[ENERGY_DELIVERED]
    assert power[ENERGY_DISSIPATED] == pytest.approx(power[ENERGY_DELIVERED] + 0.5 * 7.0, rel=1e-9)
