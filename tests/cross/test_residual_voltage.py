"""Pellucid and Umbrafold: what a motor cut off from its supply does to whatever it is joined to."""

from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest
import runs

from sim.case import load_case

from .casefile import join_signal

CASES = Path(__file__).parents[2] / "cases"
TRIP = {"pellucid": 8.0, "pellucid_late": 8.0, "umbrafold": 3.0}      # [s]


@lru_cache(maxsize=None)
def run(name):
    return runs.simulate(load_case(CASES / f"{name}.toml"))


def cycle_rms(result, node, start, nominal):
    """Line-to-line RMS over two cycles, per unit."""
    t, v = join_signal(result, node, "voltage")
    grid = np.linspace(start, start + 0.04, 4001)
    return float(np.sqrt(np.mean(np.interp(grid, t, v) ** 2))) / nominal


def torque_range(name):
    """Lowest and highest air-gap torque from the trip on, of rated."""
    result = run(name)
    t, torque = join_signal(result, "booster", "torque")
    after = torque[t > TRIP[name] + 0.05] / result.case.machines[0].motor.rated_torque_nm
    return [float(after.min()), float(after.max())]


def open_circuit_time_constant(circuit, frequency):
    """Slower time constant of two cages and the main inductance with the stator open: eigenvalues of L^-1 R. [s]"""
    main, w = circuit.magnetising_reactance_ohm, 2.0 * np.pi * frequency
    leakage = np.diag([circuit.rotor_reactance_ohm, circuit.second_rotor_reactance_ohm])
    resistance = np.diag([circuit.rotor_resistance_ohm, circuit.second_rotor_resistance_ohm])
    return float(1.0 / np.linalg.eigvals(np.linalg.solve((main + leakage) / w, resistance)).real.min())


def test_flux_dies_with_the_open_circuit_time_constant():
    """Voltage over speed of the open motor; from 0.3 s on, when the fast cage (17 ms) has done."""
    result = run("pellucid_late")
    motor = result.case.machines[0].motor
    constant = open_circuit_time_constant(motor.circuit, motor.frequency_hz)
    assert constant == pytest.approx(1.05, abs=0.005)
    t = np.array([8.3, 9.4])
    flux = [np.interp(t, *join_signal(result, "motor_terminals", "voltage"))[k]
            / np.interp(t, *join_signal(result, "booster", "speed"))[k] for k in (0, 1)]
    # 0.2 %: the stray capacitance at the terminals draws some milliamperes
    assert np.log(flux[0] / flux[1]) == pytest.approx(np.diff(t)[0] / constant, rel=2e-3)


def test_reclosing_early_breaks_the_shaft_and_late_does_not():
    """The heads of the cases: -8.4 times rated torque after 0.25 s, -1.4 to 1.8 after 1.5 s."""
    assert torque_range("pellucid")[0] == pytest.approx(-8.44, abs=0.05)
    assert torque_range("pellucid_late") == pytest.approx([-1.41, 1.77], abs=0.02)


def test_cores_hold_the_self_excited_voltage():
    """The head of the case: highest at the host's end of the cable, then down with the square of speed."""
    result = run("umbrafold")
    assert result.peaks["cable_head"].phase_earth / (np.sqrt(2.0 / 3.0) * 33e3) == pytest.approx(1.945, abs=0.01)
    volts = [cycle_rms(result, "cable_head", 3.0 + late, 33e3) for late in (0.02, 0.2, 1.0)]
    assert volts == pytest.approx([1.365, 1.067, 0.478], abs=0.005)
    t, speed = join_signal(result, "pump_motor", "speed")
    assert np.interp([3.2, 4.0], t, speed) / (50.0 * np.pi) == pytest.approx([0.774, 0.407], abs=0.003)
