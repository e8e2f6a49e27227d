"""Random networks: steady states against exact phasors, and a closing breaker against the matrix exponential.

The references (tests/reference/network_solutions.py) share no code with the engines: phase coordinates, exact
hyperbolic lines and transformers connected coil by coil for the phasors, an own state space for the closing.
"""

import numpy as np
import pytest
from reference import line, network_solutions, random_networks, three_phase
from scipy.linalg import expm

from sim.case import parse_case
from sim.engines.run.timeline import simulate
from sim.engines.waveform.gear import CLOSING_OHM, CLOSING_STEPS, closing_advance

SEEDS = range(20)
CABLE_ERROR = 1e-4      # share of each transfer's peak by which the oscillators of a cable may miss the exact line
# A cable misses by far less at 50 Hz than at the end of its bandwidth, where its size is decided; the steady
# states are asked to hold the cable error itself, voltages of their own size, currents of the largest in
# the same transformer, cable or source at either end, but at least of a thousandth of the fault level.
SMALL = 1e-3
RUN = 0.04              # two periods in the waveform engine [s]
STEP_US = 10.0          # w h = 0.003: a wave of 50 Hz is wrong by (w h)^2/25 a radian, below 1e-5 in two periods
HEAD = """[study]
duration_s = {duration}
bandwidth_khz = {bandwidth}
cable_error_pu = 1e-4
waveform_step_us = {step}
"""


def keep_plain(network):
    """The reference knows no losses that rise with frequency and no iron."""
    for row in network.get("transformer", []):
        row |= {"high_frequency_quality": 1e9, "knee_rounding_pct": 0.0}


def make_network(seed):
    """A tree of nine nodes or, for odd seeds, one with rings; one breaker in two networks of three stands open."""
    network = random_networks.random_network(seed, size=9, meshed=seed % 2 == 1)
    keep_plain(network)
    if seed % 3 and network.get("breaker"):
        network["breaker"][0]["closed"] = False
    return network


def make_case(network, duration, bandwidth=2.0, step=STEP_US, tail=""):
    head = HEAD.format(duration=duration, bandwidth=bandwidth, step=step)
    return parse_case('title = "random network"\n\n' + random_networks.write_toml(network, head) + tail, name="random")


def branch_currents(network, phasors):
    """RMS current by (component, quantity), from the exact voltages. [A]"""
    w = 2.0 * np.pi * network["grid"][0]["frequency_hz"]
    v = {name: phases[0] for name, phases in phasors.items()}
    found = {}
    for row in network["grid"]:
        drop = network_solutions.emf(row) - v[row["node"]]
        found[row["name"], "current"] = drop / network_solutions.grid_impedance(row)
    for row in network.get("transformer", []):
        drop = network_solutions.group_factor(row) * v[row["from"]] - v[row["to"]]
        found[row["name"], "current"] = drop / network_solutions.leakage_impedance(row)
    for row in network.get("cable", []):
        y = line.admittance_matrix(network_solutions.cable_lines(row)[1], 1j * w)
        into = y @ np.array([v[row["from"]], v[row["to"]]])
        found[row["name"], "current_from"], found[row["name"], "current_to"] = into
    for row in network.get("breaker", []):
        g = 1e6 / row["contact_resistance_uohm"] if row["closed"] else 0.0
        found[row["name"], "current"] = g * (v[row["from"]] - v[row["to"]])
    return {key: abs(value) for key, value in found.items()}


def check_sample(stretch, k, network, phasors):
    """Largest errors of voltages and of currents at one stored point: magnitudes."""
    sizes = {name: np.sqrt(3.0) * abs(phases[0]) for name, phases in phasors.items()}
    top = max(sizes.values())
    volts = max(abs(stretch.signals[name]["voltage"][k] - size) / max(size, SMALL * top)
                for name, size in sizes.items())
    currents = branch_currents(network, phasors)
    grid = network["grid"][0]
    least = SMALL * grid["short_circuit_mva"] * 1e6 / (np.sqrt(3.0) * grid["rated_kv"] * 1e3)
    amps = 0.0
    for (name, quantity), size in currents.items():
        scale = max(least, *(value for (other, _), value in currents.items() if other == name))
        amps = max(amps, abs(stretch.signals[name][quantity][k] - size) / scale)
    return volts, amps


@pytest.fixture(scope="module")
def steady():
    networks = {seed: make_network(seed) for seed in SEEDS}
    return {seed: (network, network_solutions.nodal_phasors(network)) for seed, network in networks.items()}


@pytest.mark.parametrize("seed", SEEDS)
def test_steady_start(seed, steady):
    """The first state and what two periods of waveform steps leave of it."""
    network, phasors = steady[seed]
    stretch = simulate(make_case(network, RUN), "waveform").stretches[-1]
    for k in (0, -1):
        volts, amps = check_sample(stretch, k, network, phasors)
        assert volts < CABLE_ERROR and amps < CABLE_ERROR, (k, volts, amps)
    w = 2.0 * np.pi * network["grid"][0]["frequency_hz"]
    turn = np.sqrt(2.0) * np.exp(1j * w * stretch.t[-1])
    for name, phases in phasors.items():
        got = [stretch.signals[name][f"voltage_{phase}"][-1] for phase in "abc"]
        assert np.abs(got - np.real(phases * turn)).max() < CABLE_ERROR * max(np.sqrt(2.0) * abs(phases[0]), 1.0)


def test_networks_hold_every_kind_of_part(steady):
    rows = [row for network, _ in steady.values() for kind in network.values() for row in kind]
    groups = {row["vector_group"] for row in rows if "vector_group" in row}
    assert groups == set(random_networks.GROUPS)
    assert {row["closed"] for row in rows if "closed" in row} == {True, False}
    assert {row["connection"] for row in rows if "connection" in row} == {"series", "parallel"}
    assert sum("length_km" in row for row in rows) >= 40


# Closing: the strays are raised to some hundred nanofarad so that the natural frequencies (some kilohertz) are
# resolved.  The engine is of order two: at 0.1 us the fastest of them, 60 000 1/s, loses (w h)^2/25 a radian over
# 600 radians, 1e-3 of its own amplitude, which decays and is a small fraction of the voltage: 1e-4 of the voltage
# is asked.  At half the step the error must fall to a quarter; that shows it to be of the method and nothing else.
CLOSING_SEEDS = tuple(seed for seed in range(60)
                      if "breaker" not in random_networks.random_network(seed, size=5, cables=False))[:4]
AT = 4.1e-3
FINISH = 0.012
CONTACT = 0.1           # of the closed pole [ohm]: the resistance with which the sweep of the front ends


def make_closing(seed):
    """Lumped network and, behind a breaker, a second one."""
    network = random_networks.random_network(seed, size=5, cables=False)
    keep_plain(network)
    names = network_solutions.node_names(network)
    last = names[-1]
    kv = next(row["nominal_kv"] for row in network["node"] if row["name"] == last)
    network["breaker"] = [{"name": "switch", "from": last, "to": "far", "closed": False,
                           "contact_resistance_uohm": 1e6 * CONTACT}]
    network["node"].append({"name": "far", "nominal_kv": kv, "stray_nf": 300.0})
    network["shunt"] = network.get("shunt", []) + [
        {"name": "load", "node": "far", "connection": "series", "resistance_ohm": 20.0 * kv, "inductance_mh": 30.0 * kv,
         "earthed": False}]
    for k, row in enumerate(network["node"]):
        row["stray_nf"] = 200.0 + 100.0 * k
    return network


def close_exactly(network, times, step):
    """Space vectors of all nodes at `times` [s]: steady state with the breaker open, then the resistance of the
    poles as the engine states it (a geometric sweep, one value a step), solved by the matrix exponential."""
    states = network_solutions.lumped_states(network)
    n = len(states.b)
    row = network["breaker"][0]
    ends = [states.rows[row["from"]], states.rows[row["to"]]]
    c = {end: 1e-9 * sum_capacitance(network, name) for end, name in zip(ends, (row["from"], row["to"]))}

    def closed(ohm):
        whole = np.zeros((n + 1, n + 1), dtype=complex)
        whole[:n, :n], whole[:n, n], whole[n, n] = states.a, states.b, 1j * states.w
        for one, other in (ends, ends[::-1]):
            whole[one, one] -= 1.0 / (ohm * c[one])
            whole[one, other] += 1.0 / (ohm * c[one])
        return whole

    start = AT - closing_advance(step)
    y = np.append(network_solutions.settled(states), 1.0) * np.exp(1j * states.w * start)
    high, low = CLOSING_OHM
    for k in range(CLOSING_STEPS):
        y = expm(step * closed(high * (low / high) ** (k / CLOSING_STEPS))) @ y
    now, final, moves, out = start + CLOSING_STEPS * step, closed(CONTACT), {}, []
    for t in times:
        key = round((t - now) * 1e12)
        if key not in moves:
            moves[key] = expm((t - now) * final)
        y, now = moves[key] @ y, t
        out.append(y[:n])
    return {name: np.array(out)[:, at] for name, at in states.rows.items()}


def sum_capacitance(network, name):
    """All capacitance to earth at a node. [nF]"""
    total = next(row["stray_nf"] for row in network["node"] if row["name"] == name)
    for row in network.get("transformer", []):
        total += row["winding_nf"] * ((row["from"] == name) + (row["to"] == name))
    for row in network.get("shunt", []):
        if row["node"] == name and row["connection"] == "parallel":
            total += 1e3 * row.get("capacitance_uf", 0.0)
    return total


def closing_error(network, step):
    """Largest error of any phase voltage after the front, of the node's nominal peak."""
    tail = f'\n[[event]]\nat_s = {AT}\naction = "close"\ntarget = "switch"\n'
    stretch = simulate(make_case(network, FINISH, 50.0, 1e6 * step, tail), "waveform").stretches[-1]
    late = stretch.t > AT + CLOSING_STEPS * step
    exact = close_exactly(network, stretch.t[late], step)
    worst, swing = 0.0, 0.0
    for row in network["node"]:
        peak = np.sqrt(2.0 / 3.0) * 1e3 * row["nominal_kv"]
        vectors = exact[row["name"]]
        for phase, turn in zip("abc", three_phase.POSITIVE):
            wanted = np.real(vectors * turn)
            worst = max(worst, np.abs(stretch.signals[row["name"]][f"voltage_{phase}"][late] - wanted).max() / peak)
        swing = max(swing, np.ptp(np.abs(vectors)) / peak)
    return worst, swing


@pytest.mark.parametrize("seed", CLOSING_SEEDS)
def test_closing_of_a_breaker(seed):
    network = make_closing(seed)
    coarse, swing = closing_error(network, 2e-7)
    fine, _ = closing_error(network, 1e-7)
    assert swing > 0.02                                # the closing is an event, not a formality
    assert fine < 1e-4, (coarse, fine)
    assert fine == pytest.approx(coarse / 4.0, rel=0.2)
