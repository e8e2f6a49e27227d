"""A direct start in a process plant: lowest bus voltage against a published study.

Read second-hand, in notes on an anonymous conference manuscript of 2026 (weak): source 13.8 kV, 15 kA, X/R 12;
transformer 7.5 MVA, 8 %; bus 4.16 kV; motor 1250 kW, power factor 0.89, locked rotor 6.5 times rated current at a power
factor of 0.20; static load 3.6 MW.  Lowest voltage with the other motors off: 0.866.  Efficiency and power factor of
the load are not given (0.95 and 0.9 here), hence 2 %.
"""

import numpy as np
import pytest

from sim.case import parse_case
from sim.engines.run.timeline import simulate
from sim.measures.summary import summarise
from sim.params.motor.circuit import input_impedance

MOTOR_PU = 1.0 / 6.5            # locked-rotor impedance on the motor's own base
COS = 0.20

CASE = """
title = "Plant"
[study]
duration_s = 1.5
[[grid]]
name = "source"
node = "high"
rated_kv = 13.8
frequency_hz = 60.0
short_circuit_mva = {mva}
x_over_r = 12.0
[[transformer]]
name = "unit"
from = "high"
to = "bus"
rated_mva = 7.5
from_kv = 13.8
to_kv = 4.16
impedance_pct = 8.0
x_over_r = 12.0
knee_pu = 3.0
[[shunt]]
name = "static"
node = "bus"
connection = "series"
resistance_ohm = {r}
inductance_mh = {l}
earthed = false
[[breaker]]
name = "gear"
from = "bus"
to = "terminals"
closed = false
[[machine]]
name = "fan"
node = "terminals"
[machine.motor]
rated_kw = 1250.0
rated_kv = 4.16
frequency_hz = 60.0
poles = 4
efficiency_pu = 0.95
power_factor_pu = 0.89
[machine.motor.circuit]
stator_resistance_pu = 0.01
stator_reactance_pu = {x}
magnetising_reactance_pu = 3.5
rotor_resistance_pu = {rr}
rotor_reactance_pu = {x}
[machine.shaft]
inertia_kgm2 = 200.0
[machine.load]
kind = "pump"
[[event]]
at_s = 0.1
action = "close"
target = "gear"
"""


def write_case():
    """The circuit's locked-rotor impedance is 1/6.5 at a power factor of 0.2; the magnetising branch is allowed for."""
    power, cos = 3.6e6, 0.9
    z = 4160.0**2 * cos / power
    size, r = MOTOR_PU, MOTOR_PU * COS
    x = 0.5 * np.sqrt(size**2 - r**2) * 1.02
    return CASE.format(mva=np.sqrt(3.0) * 13.8 * 15.0, r=z * cos, l=1e3 * z * np.sqrt(1.0 - cos**2) / (120.0 * np.pi),
                       x=x, rr=(r - 0.01) * (1.0 + x / 3.5) ** 2)


def test_lowest_bus_voltage():
    summary = summarise(simulate(parse_case(write_case())))
    assert summary["nodes"]["bus"]["min_urms_pu"] == pytest.approx(0.866, rel=0.02)


def test_the_circuit_has_the_locked_rotor_current_it_was_made_for():
    motor = parse_case(write_case()).machines[0].motor
    z = complex(input_impedance(motor.circuit, 1.0))
    assert 4160.0 / (np.sqrt(3.0) * abs(z)) / motor.rated_current_a == pytest.approx(6.5, rel=0.02)
    assert z.real / abs(z) == pytest.approx(COS, abs=0.01)
