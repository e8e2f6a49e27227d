"""Motor voltage at standstill of both Morrowgate cases against a phasor estimate with the data of the case file.

A desk estimate of this arrangement gives 0.655 of rated voltage with the small transformer and the motor of 5.5 times
rated current, and 0.80 with the large one and 4.5 times.  The phasors below, with the locked-rotor impedance of
the circuit in the case (5.50 and 4.51 times, power factor 0.153 and 0.172) and the exact line, give 0.6575 and
0.8008; over the cycle that ends 0.3 s after closing, at 6 % and 10 % of speed, the runs lie within 2 % of that: the
direct current of the motor has driven the core of the subsea transformer beyond its knee by then, and its pulses take
1 to 2 % of the voltage.
"""

from pathlib import Path

import numpy as np
import pytest
import runs
from reference import line

from cross.casefile import join_signal
from sim.case import load_case

CASES = Path(__file__).parents[2] / "cases"
ESTIMATE = {"morrowgate": 0.655, "morrowgate_large_transformer": 0.80}
ROUNDING = 5e-3         # 0.80 carries two digits: half a unit of the last is 0.6 %
# The shaft moves: when the offset currents have died out (0.3 s) it turns at some per cent of its speed, and the
# motor's impedance with it; 2 % is what that leaves of a standstill estimate.
AIM = 0.02
CLOSE, SETTLED = 0.3, 0.3
CREST = np.sqrt(2.0 / 3.0)


def skewed(size, x_over_r):
    return size * (1.0 + 1j * x_over_r) / np.hypot(1.0, x_over_r)


def locked_impedance(motor):
    z = motor.circuit
    rotor = sum(1.0 / (r + 1j * x) for r, x in ((z.rotor_resistance_ohm, z.rotor_reactance_ohm),
                                                (z.second_rotor_resistance_ohm, z.second_rotor_reactance_ohm)))
    gap = rotor + 1.0 / (1j * z.magnetising_reactance_ohm)
    return z.stator_resistance_ohm + 1j * z.stator_reactance_ohm + 1.0 / gap


def standstill(case):
    """Voltage at the motor, per unit of its rating, with everything referred to the motor's side."""
    grid, (stepup, stepdown), cable, machine = case.grids[0], case.transformers, case.cables[0], case.machines[0]
    level = machine.motor.rated_v
    z = skewed(level**2 / grid.short_circuit_va, grid.x_over_r)
    z += skewed(stepup.impedance_pu * level**2 / stepup.rated_va, stepup.x_over_r)
    data = cable.sections[0].positive
    a, b, c, d = line.chain_matrix(line.Line(data.resistance_ohm_per_m, data.inductance_h_per_m,
                                             data.capacitance_f_per_m, cable.length_m), 100j * np.pi)
    ratio = stepdown.from_v / stepdown.to_v
    chain = np.array([[1.0, z], [0.0, 1.0]]) @ np.array([[a, b / ratio**2], [c * ratio**2, d]])
    z = skewed(stepdown.impedance_pu * level**2 / stepdown.rated_va, stepdown.x_over_r)
    port = chain @ np.array([[1.0, z], [0.0, 1.0]]) @ np.array([1.0, 1.0 / locked_impedance(machine.motor)])
    return grid.voltage_pu / abs(port[0])


@pytest.fixture(scope="module", params=sorted(ESTIMATE))
def case(request):
    return request.param, load_case(CASES / f"{request.param}.toml")


def test_run_agrees_with_the_phasors(case):
    _, loaded = case
    result = runs.simulate(loaded)
    t, volts = join_signal(result, "motor_terminals", "voltage")
    cycle = np.linspace(CLOSE + SETTLED - 0.02, CLOSE + SETTLED, 201)
    settled = np.interp(cycle, t, volts).mean() / loaded.machines[0].motor.rated_v
    assert settled == pytest.approx(standstill(loaded), rel=AIM)
    # no peak of its own when the saturated core goes over to the envelope engine: a start only lowers the voltage, but
    # for what strays ring as the contacts close
    assert [h["to"] for h in result.handovers] == ["waveform", "envelope"]
    t, volts = join_signal(result, "subsea_bus", "voltage")
    peak = result.peaks["subsea_bus"]
    at_closing = abs(peak.phase_earth_time - CLOSE) < 1e-3
    assert at_closing or peak.phase_earth < 1.05 * CREST * volts[t < CLOSE - 0.02].max()


def test_phasors_of_the_case_against_the_earlier_estimate(case):
    size, loaded = case
    assert standstill(loaded) == pytest.approx(ESTIMATE[size], rel=ROUNDING)
