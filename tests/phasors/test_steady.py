"""The first state of a running grid against the end of a long run and against phasors by hand."""

import numpy as np
import pytest
from engines.circuits import (
    TURN,
    breaker,
    build,
    cable,
    grid,
    grid_frames,
    make_case,
    run_waveform,
    shunt,
    transformer,
)

from sim.engines.handover import dead_state, to_waveform
from sim.engines.run.timeline import simulate
from sim.params.cable.modes import exact_two_port
from sim.phasors.nodal import nodal_matrix
from sim.phasors.steady import steady_state

FEEDER = (transformer("bus", "head", to_kv=20.0), breaker("head", "start"),
          cable("start", km=40.0, resistance_ohm_per_km=1.0), transformer("tail", "end", from_kv=20.0, name="unit_2"),
          shunt("end", resistance_ohm=60.0), shunt("tail", connection="series", name="filter", resistance_ohm=50.0,
                                                    inductance_mh=20.0, capacitance_uf=2.0))
PERIODS = 25


def solve(*parts):
    _, network = build(*parts, bandwidth_khz=1.0)
    return network, steady_state(network, network.closed, grid_frames(network))


def rows(x):
    """Oscillating part of a state: everything but the machines, in the stationary frame."""
    return x[0] + 1j * x[1]


def test_a_run_from_rest_tends_to_the_steady_state():
    """Fundamental of the last of 25 periods (400 steps each) after switching on at rest.

    The direct flux of the cores decays over seconds, a Fourier coefficient does not see it.  The method's error
    in phase and size of a turning vector is (w h)^2/12 or less, 2e-5, per impedance in the way; measured 5e-5.
    """
    network, exact = solve(grid(mva=100.0, x_over_r=2.0), *FEEDER)
    run = run_waveform(network, PERIODS * 0.02, 5e-5)
    turn = np.exp(-1j * TURN * run.t[-400:])
    for samples, first in ((run.samples.v, 0), (run.samples.i, len(network.node_names))):
        rotating = samples[-400:, 0] + 1j * samples[-400:, 1]
        got, expected = (turn[:, None] * rotating).mean(axis=0), exact[first:first + samples.shape[2]]
        assert np.abs(got - expected).max() < 2e-4 * np.abs(expected).max()
        assert np.abs(got / expected - 1.0).max() < 2e-3        # magnetising currents, 1/200 of the largest


def test_the_steady_state_stays():
    """Started in it, the waveform engine keeps every state turning: magnitudes to its error of 1e-6 a period."""
    network, exact = solve(grid(mva=100.0), *FEEDER)
    state = dead_state(network)
    state.x[:] = exact
    run = run_waveform(network, 0.04, 5e-6, stride=1000, state=to_waveform(network, state))
    turned = exact * np.exp(1j * TURN * run.end)
    weight = np.maximum(np.abs(exact), 1e-6 * np.abs(exact).max())
    assert (np.abs(rows(run.state.x) - turned) / weight).max() < 1e-4
    assert np.abs(run.state.x[2]).max() < 1e-15 * np.abs(exact).max()      # zero sequence: rounding of the poles


def test_divider_by_hand():
    """Grid impedance and a load at one node: V = E Z_load/(Z_load + Z_grid), strays aside (1 nF: 1e-7)."""
    network, x = solve(grid(mva=100.0, x_over_r=5.0, voltage_pu=1.05), shunt("bus", resistance_ohm=10.0,
                                                                             inductance_mh=50.0))
    z = 1.0 / 100.0 * 100.0         # V^2/S
    reactance = z / np.hypot(1.0, 0.2)
    grid_z = reactance * (0.2 + 1j)
    load = 1.0 / (1.0 / 10.0 + 1.0 / (1j * TURN * 0.05))
    assert x[0] == pytest.approx(1.05e4 * load / (load + grid_z), rel=1e-6)
    assert abs(x[network.node_names.index("bus")]) == abs(x[0])


def test_voltage_rises_along_an_open_cable():
    """Ferranti: 1/cos(beta l), of the loss-free line; 1.2 ohm in all shift it by less than 1e-5."""
    network, x = solve(grid(mva=1e6), cable("bus", km=120.0, resistance_ohm_per_km=0.01))
    ratio = abs(x[network.node_names.index("tail")] / x[network.node_names.index("bus")])
    assert ratio == pytest.approx(1.0 / np.cos(TURN * 120e3 * np.sqrt(0.41e-6 * 0.18e-9)), rel=2e-5)


@pytest.mark.parametrize("conductance", [0.0, 1000.0])
@pytest.mark.parametrize("engine", ["envelope", "waveform"])
def test_cable_currents_match_the_exact_line(engine, conductance):
    """Currents into both ends in steady state, with conductance up to the largest a case takes [uS/km].

    Exact two-port between the voltages of the run; sized error 1e-4, and 1e-5 of the waveform's step.
    """
    case = make_case(grid(), cable("bus", km=40.0, conductance_us_per_km=conductance),
                     shunt("tail", resistance_ohm=100.0), duration=0.04)
    signals = simulate(case, engine).stretches[-1].signals
    volts, current = signals["bus"]["voltage"][-1] / np.sqrt(3.0), signals["line"]
    s = np.array([1j * TURN])
    cosh, z_sinh, sinh_z = exact_two_port(s, 40e3, 0.246e-3, 0.41e-6, 0.18e-9, conductance * 1e-9)
    end = 1.0 / (cosh + z_sinh / 100.0)         # open-end voltage per volt, and current, of the loaded line
    assert current["current_to"][-1] == pytest.approx(volts * abs(end[0]) / 100.0, rel=2e-4)
    assert current["current_from"][-1] == pytest.approx(volts * abs((sinh_z + cosh / 100.0) * end)[0], rel=2e-4)


def test_nodal_matrix_is_reciprocal_without_phase_shift_and_passive():
    network, _ = solve(grid(mva=100.0), *FEEDER)
    for w in (1.0, 314.0, 1e4):
        y = nodal_matrix(network, 1j * w * np.ones(2), network.closed)
        assert np.linalg.eigvalsh(0.5 * (y + y.conj().T)).min() > -1e-9 * np.abs(y).max()


def test_open_breaker_leaves_the_far_side_dead():
    parts = [grid(), breaker(closed=False), cable()]
    network, x = solve(*parts)
    dead = [network.node_names.index(name) for name in ("head", "tail")]
    assert not np.abs(x[dead]).any()
    assert abs(x[network.node_names.index("bus")]) == pytest.approx(1e4, rel=1e-6)
