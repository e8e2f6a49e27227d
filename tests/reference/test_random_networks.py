"""Random networks: the phase-coordinate solution, the state equations and a third way must agree."""

import tomllib

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from . import line, random_networks, three_phase
from . import network_solutions as solutions

SEEDS = range(12)


def positive_sequence(network):
    """Third way: one complex nodal matrix, transformers as complex ratios, breakers by their resistance."""
    w = 2.0 * np.pi * network["grid"][0]["frequency_hz"]
    names = solutions.node_names(network)
    y, i = np.zeros((len(names),) * 2, dtype=complex), np.zeros(len(names), dtype=complex)
    for name, stray in solutions.node_strays(network).items():
        y[names.index(name), names.index(name)] += 1j * w * stray
    for row in network["grid"]:
        n, z = names.index(row["node"]), solutions.grid_impedance(row)
        y[n, n] += 1.0 / z
        i[n] += solutions.emf(row) / z
    for row in network.get("shunt", []):
        n = names.index(row["node"])
        y[n, n] += solutions.shunt_admittance(row, w)
    for kind in ("transformer", "cable", "breaker"):
        for row in network.get(kind, []):
            ends = [names.index(row["from"]), names.index(row["to"])]
            y[np.ix_(ends, ends)] += two_port(kind, row, w)
    return dict(zip(names, np.linalg.solve(y, i)))


def two_port(kind, row, w):
    if kind == "cable":
        return line.admittance_matrix(solutions.cable_lines(row)[1], 1j * w)
    if kind == "breaker":
        g = 1e6 / row["contact_resistance_uohm"] * row["closed"]
        return g * np.array([[1.0, -1.0], [-1.0, 1.0]])
    ratio, y = solutions.group_factor(row), 1.0 / solutions.leakage_impedance(row)
    winding = 1j * w * 1e-9 * row["winding_nf"]
    own = [solutions.core_admittance(row, side) + winding for side in ("from", "to")]
    return np.array([[abs(ratio) ** 2 * y + own[0], -np.conj(ratio) * y], [-ratio * y, y + own[1]]])


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("meshed", [False, True], ids=["radial", "meshed"])
def test_balanced_network_is_its_positive_sequence(seed, meshed):
    network = random_networks.random_network(seed, size=8, meshed=meshed)
    phases, single = solutions.nodal_phasors(network), positive_sequence(network)
    for name, expected in single.items():
        zero, positive, negative = three_phase.sequences(phases[name])
        # 1e5 S breakers beside 1e-7 S strays cost up to nine of fifteen digits
        assert positive == pytest.approx(expected, rel=1e-6)
        assert abs(zero) < 1e-6 * abs(expected) and abs(negative) < 1e-6 * abs(expected)


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("meshed", [False, True], ids=["radial", "twin"])
def test_state_equations_settle_on_the_phasors(seed, meshed):
    network = random_networks.random_network(seed, size=6, meshed=meshed, cables=False)
    states = solutions.lumped_states(network)
    x, phasors = solutions.settled(states), solutions.nodal_phasors(network)
    for name, row in states.rows.items():
        # peak against rms; 50 uohm in a breaker against ohms of everything else: 1e-4 at most
        assert x[row] == pytest.approx(np.sqrt(2.0) * phasors[name][0], rel=1e-4)
    # nothing grows; a current circling in two lossless cores at one node keeps for ever, hence the rounding
    rates = np.linalg.eigvals(states.a)
    assert rates.real.max() <= 1e-12 * np.abs(rates).max()


def test_energising_solves_the_state_equations():
    network = random_networks.random_network(3, size=4, cables=False)
    states = solutions.lumped_states(network)
    t = np.linspace(0.0, 2e-3, 21)
    n = len(states.b)

    def rates(t, y):
        return states.a @ y + states.b * np.exp(1j * states.w * t)

    solution = solve_ivp(rates, (0.0, t[-1]), np.zeros(n, dtype=complex), method="DOP853", t_eval=t,
                         rtol=1e-9, atol=1e-7)
    voltages = solutions.energise(states, t)
    for name, row in states.rows.items():
        # the solver's tolerance grows over some hundred oscillations; volts of 1e4
        assert np.allclose(voltages[name], solution.y[row], rtol=0.0, atol=1e-2)


def test_settled_network_stays_settled():
    network = random_networks.random_network(5, size=6, cables=False)
    states = solutions.lumped_states(network)
    t = np.linspace(0.0, 0.1, 101)
    x = solutions.settled(states)
    for name, v in solutions.energise(states, t, x).items():
        expected = x[states.rows[name]] * np.exp(1j * states.w * t)
        assert np.allclose(v, expected, rtol=0.0, atol=1e-7 * abs(expected[0]))


def test_faulted_phase_is_at_earth():
    network = random_networks.random_network(1, size=6)
    earth = [(three_phase.terminals("n3")[:1], np.array([[1e9]]))]
    v = solutions.nodal_phasors(network, extra=earth)
    assert abs(v["n3"][0]) < 1e-3 and abs(v["n3"][1]) > 100.0
    assert abs(three_phase.sequences(v["n0"])[2]) > 0.0


def test_same_seed_same_network_and_text_reads_back():
    network = random_networks.random_network(7, meshed=True)
    assert network == random_networks.random_network(7, meshed=True)
    assert network != random_networks.random_network(8, meshed=True)
    assert tomllib.loads(random_networks.write_toml(network)) == network


def test_all_kinds_of_branches_occur():
    seen = {kind for seed in SEEDS for kind in random_networks.random_network(seed, size=8, meshed=True)}
    assert seen == {"grid", "transformer", "cable", "breaker", "shunt", "node"}


def test_cables_have_no_finite_set_of_states():
    network = next(n for n in map(random_networks.random_network, SEEDS) if "cable" in n)
    with pytest.raises(ValueError, match="cables"):
        solutions.lumped_states(network)
