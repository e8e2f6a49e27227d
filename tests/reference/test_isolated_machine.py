"""The machine cut off from its supply: linear growth and decay, the self-excited state, energy, current zeros."""

import numpy as np
import pytest
from scipy.linalg import expm

from . import isolated_machine
from .isolated_machine import Saturation, State, Terminals
from .machine import Machine

W = 100.0 * np.pi
# 10 kV, 2.2 MVA: base 45.5 ohm; stator 0.01 + j0.1, magnetising 3.5, cage 0.012 + j0.1 per unit, two pole pairs
BASE = 45.5
MACHINE = Machine(0.01 * BASE, 0.1 * BASE / W, 3.5 * BASE / W, ((0.012 * BASE, 0.1 * BASE / W),), 2, 40.0)
CREST = np.sqrt(2.0 / 3.0) * 10e3
KNEE = Saturation(1.15 * CREST / W, 0.2)
NEVER = Saturation(1e3, 0.2)
MAGNETISING = 1.0 / (W * (3.6 * BASE / W))          # susceptance at no load [S]


def terminals(share, conductance=0.0):
    """Capacitance of a share of the magnetising current at 50 Hz, and a source of 200 MVA."""
    return Terminals(share * MAGNETISING / W, conductance, 0.05, 1.6e-3)


def linear_matrix(machine, ends, speed):
    """x' = A x of voltage and fluxes at a held speed, all poles open, unsaturated."""
    leakages = isolated_machine.list_leakages(machine)
    gamma = np.linalg.inv(np.full((len(leakages),) * 2, machine.magnetising_inductance) + np.diag(leakages))
    r = np.array([machine.stator_resistance, *(r for r, _ in machine.cages)])
    n = len(r)
    a = np.zeros((n + 1, n + 1), dtype=complex)
    a[0, 0], a[0, 1:] = -ends.conductance / ends.capacitance, -gamma[0] / ends.capacitance
    a[1:, 1:] = -r[:, None] * gamma + 1j * machine.pole_pairs * speed * np.diag([0.0] + [1.0] * (n - 1))
    a[1, 0] = 1.0
    return a


def test_open_machine_decays_with_its_rotor_time_constant():
    """Next to no capacitance: (Lm + Lr)/Rr, and the voltage turns with the rotor."""
    ends = terminals(1e-6)
    values = np.linalg.eigvals(linear_matrix(MACHINE, ends, 150.0))
    slow = values[np.abs(values.imag) < 1e3]
    slowest = slow[slow.real.argmax()]
    (resistance, leakage), = MACHINE.cages
    assert slowest.real == pytest.approx(-resistance / (leakage + MACHINE.magnetising_inductance), rel=1e-4)
    assert slowest.imag == pytest.approx(300.0, rel=1e-6)


@pytest.mark.parametrize("share", [0.4, 1.3])
def test_unsaturated_run_is_the_matrix_exponential(share):
    """Heavy shaft: 1e9 kg m2 holds the speed. Decays below, grows above the no-load magnetising current."""
    ends = terminals(share, 1e-4)
    start = np.array([0.3 * CREST, -0.3j * CREST / W, -0.3j * CREST / W])
    state = State(np.zeros(3), isolated_machine._phases(start[0]), start[1:], 0.5 * W)
    t = np.linspace(0.0, 0.4, 41)
    run = isolated_machine.simulate(MACHINE._replace(inertia=1e9), NEVER, ends, None, None, t, state)
    a = linear_matrix(MACHINE, ends, 0.5 * W)
    exact = np.array([expm(a * time) @ start for time in t])
    vectors = run.voltage @ isolated_machine.TO_VECTOR
    assert np.abs(vectors - exact[:, 0]).max() < 1e-5 * np.abs(exact[:, 0]).max()       # 1e-9 a step, 1e3 steps
    assert np.abs(run.flux - exact[:, 1:]).max() < 1e-5 * np.abs(exact[:, 1:]).max()
    assert (np.abs(vectors[-1]) > np.abs(vectors[0])) == (share > 1.0)


def test_self_excitation_settles_where_the_terminals_take_no_current():
    """The integration starts 0.2 % off and forgets it (4e-6 left after 2 s); the condition is solved apart from it."""
    ends = terminals(1.3, 2e-4)
    machine = MACHINE._replace(inertia=1e9)
    size, w = isolated_machine.excited_state(machine, KNEE, ends, 0.5 * W)
    state = State(np.zeros(3), isolated_machine._phases(w * size), np.full(2, -1.002j * size), 0.5 * W)
    t = np.concatenate([[0.0], np.linspace(1.9, 2.0, 101)])
    run = isolated_machine.simulate(machine, KNEE, ends, None, None, t, state)
    late = isolated_machine.main_flux(machine, KNEE, run.flux[1:])
    assert np.abs(late) == pytest.approx(size, rel=1e-5) and size > 1.05 * KNEE.knee
    found = np.angle(late[1:] / late[:-1]) / 1e-3
    assert found == pytest.approx(w, rel=1e-5) and 0.97 < w / W < 1.0          # the rotor leads: it generates
    # at no load the stator drops leakage and resistance on top of the main flux: 3 % and next to nothing
    voltage = np.abs(run.voltage[1:] @ isolated_machine.TO_VECTOR)
    i = isolated_machine.magnetising_current(machine, KNEE, size)
    assert voltage == pytest.approx(w * (size + machine.stator_inductance * i), rel=2e-3)


def test_main_flux_is_where_leakages_and_main_path_agree():
    """psi_k - L_k i_k is the same flux for all windings, and their currents add up to its magnetising current."""
    rng = np.random.default_rng(3)
    flux = rng.normal(size=(50, 2)) + 1j * rng.normal(size=(50, 2))
    flux = 1.2 * KNEE.knee * flux
    main = isolated_machine.main_flux(MACHINE, KNEE, flux)
    i = isolated_machine.currents(MACHINE, KNEE, flux)
    asked = isolated_machine.magnetising_current(MACHINE, KNEE, np.abs(main))
    assert (np.abs(main) > KNEE.knee).any() and (np.abs(main) < KNEE.knee).any()
    assert i.sum(axis=1) == pytest.approx(asked * main / np.abs(main), rel=1e-9)
    for k, leakage in enumerate(isolated_machine.list_leakages(MACHINE)):
        assert flux[:, k] - leakage * i[:, k] == pytest.approx(main, rel=1e-9)


def test_magnetising_current_has_a_knee():
    size = np.array([0.5, 1.0, 1.5]) * KNEE.knee
    total = isolated_machine.magnetising_current(MACHINE, KNEE, size)
    assert total[:2] == pytest.approx(size[:2] / MACHINE.magnetising_inductance)
    steep = 0.2 * MACHINE.magnetising_inductance
    assert (total[2] - total[1]) / (size[2] - size[1]) == pytest.approx(1.0 / steep, rel=1e-12)


def test_energy_balance_of_an_isolated_machine():
    """Kinetic + magnetic + electric energy falls by the losses; trapezoids of 20 us: 1e-4 of what is exchanged."""
    ends = terminals(1.3, 5e-4)
    state = isolated_machine.running_state(MACHINE, KNEE, ends, CREST, 50.0, 0.0)
    state = state._replace(current=np.zeros(3))
    t = np.linspace(0.0, 0.5, 25001)
    run = isolated_machine.simulate(MACHINE, KNEE, ends, None, None, t, state)
    i = isolated_machine.currents(MACHINE, KNEE, run.flux)
    r = np.array([MACHINE.stator_resistance, MACHINE.cages[0][0]])
    lost = 1.5 * np.abs(i) ** 2 @ r + ends.conductance * np.sum(run.voltage**2, axis=1)
    whole = (0.5 * MACHINE.inertia * run.speed**2 + isolated_machine.magnetic_energy(MACHINE, KNEE, run.flux)
             + 0.5 * ends.capacitance * np.sum(run.voltage**2, axis=1))
    assert whole[0] - whole[-1] == pytest.approx(np.trapezoid(lost, t), rel=1e-4)
    assert np.trapezoid(lost, t) > 2e4


def test_running_state_stays_as_it_is():
    """Closed poles, slip of 1 % against the torque that belongs to it."""
    ends = terminals(0.6, 1e-4)
    state = isolated_machine.running_state(MACHINE, KNEE, ends, CREST, 50.0, 0.01, angle=0.7)
    asked = isolated_machine.torque(MACHINE, KNEE, state.flux[None])[0]
    t = np.linspace(0.0, 0.04, 81)
    emf = three_phases(0.7)
    run = isolated_machine.simulate(MACHINE, KNEE, ends, emf, 1.0, t, state, lambda speed: asked)
    assert asked > 1e3
    assert run.speed == pytest.approx(state.speed, rel=1e-7)
    assert run.current[40] == pytest.approx(state.current, abs=1e-4 * np.abs(state.current).max())  # a cycle later
    assert run.voltage[40] == pytest.approx(state.voltage, abs=1e-5 * CREST)


def three_phases(angle):
    turns = angle + np.array([0.0, -1.0, 1.0]) * 2.0 * np.pi / 3.0
    return lambda t: CREST * np.cos(W * t + turns)


def test_poles_open_at_their_zeros():
    ends = terminals(0.6, 1e-4)
    state = isolated_machine.running_state(MACHINE, KNEE, ends, CREST, 50.0, 0.0)
    t = np.linspace(0.0, 0.03, 3001)
    run = isolated_machine.simulate(MACHINE, KNEE, ends, three_phases(0.0), 0.0051, t, state)
    assert all(0.0051 <= at < 0.0051 + 0.0101 for at in run.opened)
    for pole, at in enumerate(run.opened):
        before = np.flatnonzero(t < at)[-1]
        assert np.abs(run.current[before, pole]) < W * 1.2e-5 * np.abs(run.current[:, pole]).max()      # of a sine
        assert np.abs(run.current[t > at, pole]).max() == 0.0
