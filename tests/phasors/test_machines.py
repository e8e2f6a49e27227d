"""Machines as phasors see them: worked examples of textbooks, the equations of the flux linkages, the main path."""

import numpy as np
import pytest
from studies.arrangements import grid, make, motor

from sim.network.build import build_network
from sim.phasors.machines import add_machines, find_branches, find_pull, find_slip, machine_admittance

NAMES = ("stator_resistance", "stator_reactance", "magnetising_reactance", "rotor_resistance", "rotor_reactance")
SECOND = {"second_rotor_resistance_pu": 0.05, "second_rotor_reactance_pu": 0.06}
PLAIN = dict(zip((f"{name}_pu" for name in NAMES), (0.007, 0.09, 3.2, 0.01, 0.09)))


def build_machines(circuit, kv=0.4, **more):
    case = make(grid(kv=kv), motor("bus", kv=kv, kw=20.0, circuit=circuit, **more))
    return build_network(case)


def in_ohm(*values):
    return {f"{name}_ohm": value for name, value in zip(NAMES, values)}


def solve_terminal(machines, s, slip, volts):
    """RMS phase current [A], power factor, torque [N m] at a line-to-line RMS voltage [V]."""
    branches = find_branches(machines, 0, s, slip)
    current = branches.terminal * volts / np.sqrt(3.0)
    gap = volts * branches.stator / (branches.stator + branches.gap)
    return abs(current), np.cos(np.angle(current)), find_pull(machines, 0, s, branches) * abs(gap) ** 2


def test_start_and_running_point_of_a_worked_example():
    """I. J. Nagrath, D. P. Kothari, Electric Machines, example 9.6, 231 V per phase: start 176.48 A and 143.73 N m;
    1450 rpm 29.95 A at 0.939 and 118.95 N m.  Read in a public collection of re-worked examples, which rounds its
    intermediate results."""
    machines = build_machines(in_ohm(0.3, 0.6, 35.0, 0.25, 0.6), rated_rpm=1450.0).tables.machines
    s, volts = 2j * np.pi * 50.0, 231.0 * np.sqrt(3.0)
    current, _, torque = solve_terminal(machines, s, 1.0, volts)
    assert (current, torque) == pytest.approx((176.48, 143.73), rel=2e-4)
    current, factor, torque = solve_terminal(machines, s, 1.0 - 1450.0 / 1500.0, volts)
    assert (current, torque) == pytest.approx((29.95, 118.95), rel=5e-4)
    assert factor == pytest.approx(0.939, abs=5e-4)


def test_running_point_of_a_six_pole_motor_at_60_hz():
    """A. E. Fitzgerald, C. Kingsley, S. D. Umans, Electric Machinery, examples 6.2 and 6.3: 18.8 A at 0.846, start
    77.6 N m; three digits at each step."""
    case = make(grid(kv=0.22, frequency_hz=60.0),
                motor("bus", kv=0.22, kw=7.5, circuit=in_ohm(0.294, 0.503, 13.25, 0.144, 0.209), poles=6,
                      rated_rpm=1176.0, frequency_hz=60.0))
    machines, s = build_network(case).tables.machines, 2j * np.pi * 60.0
    current, factor, _ = solve_terminal(machines, s, 0.02, 220.0)
    assert current == pytest.approx(18.8, abs=0.05) and factor == pytest.approx(0.846, rel=5e-3)
    assert solve_terminal(machines, s, 1.0, 220.0)[2] == pytest.approx(77.6, rel=5e-3)


@pytest.mark.parametrize("circuit", [PLAIN, PLAIN | SECOND])
def test_admittance_is_that_of_the_flux_linkages(circuit):
    """s psi = v - R gamma psi + j n psi of the cages (Krause, Wasynczuk, Sudhoff, chapter 4, stationary frame), at
    complex frequencies, both directions of rotation and speeds beyond synchronism."""
    machines = build_machines(circuit).tables.machines
    size = int(np.count_nonzero(machines.leak[0]))
    gamma, r = machines.gamma[0, :size, :size], machines.r[0, :size]
    s = np.array([2j * np.pi * 50.0, -2j * np.pi * 250.0, -30.0 + 2j * np.pi * 800.0, 2j * np.pi * 1.0])
    for rotor in (0.0, 300.0, 330.0):
        found = machine_admittance(machines, 0, s, rotor)
        turning = 1j * rotor * np.diag(np.arange(size) > 0)
        for at, y in zip(s, found):
            flux = np.linalg.solve(at * np.eye(size) + r[:, None] * gamma - turning, np.eye(size)[0])
            assert y == pytest.approx(gamma[0] @ flux, rel=1e-10)


def test_torque_is_that_of_the_flux_linkages():
    """pairs Im(conj(psi_s) i_s) of the same equations."""
    machines = build_machines(PLAIN | SECOND).tables.machines
    s, slip, volts = 2j * np.pi * 45.0, 0.3, 380.0
    gamma, r = machines.gamma[0], machines.r[0]
    turning = (1.0 - slip) * s * np.diag([0.0, 1.0, 1.0])
    flux = np.linalg.solve(s * np.eye(3) + r[:, None] * gamma - turning, np.array([volts, 0.0, 0.0]))
    expected = machines.pairs[0] * (np.conj(flux[0]) * (gamma[0] @ flux)).imag
    assert solve_terminal(machines, s, slip, volts)[2] == pytest.approx(expected, rel=1e-10)


def test_slip_of_harmonics_of_both_sequences():
    """Rotor at 49 Hz: (50 - 49)/50; the fifth turns against it, (250 + 49)/250."""
    rotor = 2.0 * np.pi * 49.0
    assert find_slip(2j * np.pi * 50.0, rotor) == pytest.approx(0.02)
    assert find_slip(-2j * np.pi * 250.0, rotor) == pytest.approx(299.0 / 250.0)


def test_saturated_main_path_is_a_smaller_magnetising_inductance():
    """With as much again drawn beyond its linear part the main path has half its inductance."""
    full, half = (build_machines(PLAIN | {"magnetising_reactance_pu": x}).tables.machines for x in (3.2, 1.6))
    s = 2j * np.pi * 50.0
    beyond = full.whole[0] - full.leak[0].sum()
    for slip in (0.0, 0.02, 1.0):
        assert find_branches(full, 0, s, slip, beyond).terminal == pytest.approx(
            find_branches(half, 0, s, slip).terminal, rel=1e-9)


def test_machines_join_the_matrices_of_many_frequencies():
    network = build_machines(PLAIN)
    s, rotor = 2j * np.pi * np.array([30.0, 50.0, 350.0]), np.array([[0.0], [100.0], [300.0]])
    whole = add_machines(np.zeros((3, 1, 1), dtype=complex), network, s, rotor)
    expected = [machine_admittance(network.tables.machines, 0, at, n[0]) for at, n in zip(s, rotor)]
    assert whole[:, 0, 0] == pytest.approx(np.array(expected), rel=1e-12)
