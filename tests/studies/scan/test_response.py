"""Frequency responses against phasors in phase coordinates with exact lines, and against scikit-rf."""

import numpy as np
import pytest
from reference import harmonics, line, random_networks, three_phase

from sim.case import parse_case
from sim.network.build import build_network
from sim.params.cable.modes import exact_two_port
from sim.params.motor.circuit import input_impedance
from sim.phasors.machines import machine_admittance
from sim.phasors.nodal import ZERO
from sim.studies.scan.resonances import find_gains
from sim.studies.scan.response import find_response, refine_grid, sample_network
from sim.studies.scan.setting import make_setting, whole_matrix
from studies.arrangements import CABLES, cable, drive, grid, make, motor, transformer

SEEDS = range(6)
BAND = 2000.0           # bandwidth of the networks [Hz]
ACCURATE = 1e-9         # error of their cables at the end of twice that bandwidth
HEAD = f"""title = "random network"

[study]
duration_s = 1.0
bandwidth_khz = {BAND / 1e3}
cable_error_pu = {ACCURATE}

"""
# What a share of 1e-9 of a cable's peak transfer becomes beside the node's own impedance: the quality of a resonance,
# squared where a transfer between two sharp resonances is small.  1e-6 leaves a factor of a thousand.
EXACT = 1e-6


def build_random(seed):
    network = random_networks.random_network(seed, size=7, meshed=seed % 2 == 1)
    for row in network.get("transformer", []):
        row |= {"core": "bank", "high_frequency_quality": 1e9}     # the reference: three units, leakage without eddies
    case = parse_case(HEAD + random_networks.write_toml(network), name="random")
    return network, make_setting(case, build_network(case))


@pytest.mark.parametrize("seed", SEEDS)
def test_impedances_of_random_networks(seed):
    """Every pair with one node, both sequences, from 30 Hz to the bandwidth; of the largest of its row."""
    network, setting = build_random(seed)
    names = setting.network.node_names
    outer = list(range(len(names)))
    for hz in (30.0, 130.0, 410.0, 1270.0, BAND):
        node = names[seed % len(names)]
        expected = harmonics.impedances(network, node, hz)
        for row, pick in ((0, 1), (ZERO, 0)):
            found = sample_network(setting, 2j * np.pi * hz, row, outer)[0][:, names.index(node)]
            exact = np.array([expected[name][pick] for name in names])
            scale = np.array([setting.network.node_volts[n] for n in outer])
            assert np.abs((found - exact) / scale).max() < EXACT * np.abs(exact / scale).max(), (hz, row)


@pytest.mark.parametrize("seed", SEEDS)
def test_gains_of_random_networks(seed):
    """Angles included: clock numbers turn a transfer.  The reference's emf stands at its own phase."""
    network, setting = build_random(seed)
    names, volts = setting.network.node_names, setting.network.node_volts
    for hz in (30.0, 410.0, BAND):
        exact = harmonics.gains(network, hz)
        found = find_gains(setting, 2j * np.pi * hz, 0)
        expected = np.array([exact[name] for name in names]) * volts[names.index("n0")] / volts
        assert np.abs(found - expected).max() < EXACT * np.abs(expected).max(), hz


def test_cable_against_scikit_rf():
    """Impedance matrix of a cable's ends beside a grid and strays, its two-port from scikit-rf's media."""
    r, inductance, c = CABLES[240]
    case = make(grid(mva=400.0), cable(km=35.0, constants=CABLES[240]), bandwidth_khz=3.0, cable_error_pu=ACCURATE)
    setting = make_setting(case, build_network(case))
    response = find_response(setting, 50.0, 3000.0)
    own = line.Line(r * 1e-3, inductance * 1e-6, c * 1e-9, 35e3)
    w = 2.0 * np.pi * response.frequency
    z = 33.0**2 / 400.0 / np.hypot(1.0, 10.0)
    y = line.library_admittance(own, response.frequency) + 1e-9j * w[:, None, None] * np.eye(2)
    y[:, 0, 0] += 1.0 / (z * (1.0 + 10j * response.frequency / 50.0))
    expected = np.linalg.inv(y)
    assert response.nodes == ("bus", "tail")
    assert np.abs(response.impedance / expected - 1.0).max() < EXACT


def test_default_cable_error_within_the_band():
    """The default of 1e-4 holds up to twice the bandwidth; within it the driving point of an open end is off by less
    than that, of its largest magnitude."""
    r, inductance, c = CABLES[240]
    case = make(grid(mva=400.0), cable(km=35.0, constants=CABLES[240]))
    response = find_response(make_setting(case, build_network(case)), 50.0, 5000.0)
    w = 2.0 * np.pi * response.frequency
    z = 33.0**2 / 400.0 / np.hypot(1.0, 10.0) * (1.0 + 10j * response.frequency / 50.0)
    own = line.Line(r * 1e-3, inductance * 1e-6, c * 1e-9, 35e3)
    y = line.admittance_matrix(own, 1j * w) + 1e-9j * w[:, None, None] * np.eye(2)
    y[:, 0, 0] += 1.0 / z
    expected = np.linalg.inv(y)[:, 1, 1]
    assert np.abs(response.impedance[:, 1, 1] - expected).max() < 1e-4 * np.abs(expected).max()


def find_machine_setting(slip=None, **more):
    case = make(grid(), transformer("bus", "low", 33.0, 6.6, winding_nf=0.0), motor("low", **more))
    return case, make_setting(case, build_network(case), slip)


@pytest.mark.parametrize("sign", [1.0, -1.0])
@pytest.mark.parametrize("second", [False, True])
def test_motor_is_its_circuit_at_the_slip_of_the_harmonic(sign, second):
    """(w -+ w_rotor)/w with the textbook's circuit; the negative sequence is the conjugate at minus w."""
    circuit = {"stator_resistance_pu": 0.007, "stator_reactance_pu": 0.09, "magnetising_reactance_pu": 3.2,
               "rotor_resistance_pu": 0.03, "rotor_reactance_pu": 0.09}
    if second:
        circuit |= {"second_rotor_resistance_pu": 0.012, "second_rotor_reactance_pu": 0.2}
    case, setting = find_machine_setting(circuit=circuit)
    machines, own, rotor = setting.network.tables.machines, case.machines[0].motor, setting.rotor[0]
    for hz in (20.0, 250.0, 350.0, 2500.0):
        w = 2.0 * np.pi * hz
        found = machine_admittance(machines, 0, sign * 1j * w, rotor)
        z = input_impedance(own.circuit, (w - sign * rotor) / w, hz / 50.0)
        assert found == pytest.approx(1.0 / (z if sign > 0.0 else np.conj(z)), rel=1e-9)


def test_motor_at_a_node():
    """Positive sequence of a motor's node, its circuit as an element of the reference; none in the zero sequence."""
    case, setting = find_machine_setting(slip=1.0)
    own = case.machines[0].motor
    assert setting.rotor[0] == 0.0
    network = {"grid": [dict(name="host", node="bus", rated_kv=33.0, frequency_hz=50.0, short_circuit_mva=500.0,
                             x_over_r=10.0, voltage_pu=1.0, phase_deg=0.0, x0_over_x1=1.0, earthed=True)],
               "transformer": [{"name": "unit", "from": "bus", "to": "low", "rated_mva": 4.0, "from_kv": 33.0,
                                "to_kv": 6.6, "tap_pct": 0.0, "impedance_pct": 8.0, "x_over_r": 15.0,
                                "vector_group": "Dyn11", "no_load_current_pct": 0.5, "no_load_loss_pct": 0.1,
                                "winding_nf": 0.2}]}     # the bushing of the case's transformer
    hz = 250.0
    y = 1.0 / input_impedance(own.circuit, 1.0, hz / 50.0)
    stray = 2j * np.pi * hz * own.winding_f
    extra = [three_phase.shunt_element(three_phase.terminals("low"), three_phase.phase_matrix(stray, y + stray))]
    expected = harmonics.impedances(network, "low", hz, extra)["low"]
    at = setting.network.node_names.index("low")
    positive = np.linalg.inv(whole_matrix(setting, 2j * np.pi * hz))[at, at]
    assert positive == pytest.approx(expected[1], rel=1e-5)     # strays of inner windings, 1e-9 S of 1e-1


def test_rated_slip_is_that_of_the_rated_speed():
    case, setting = find_machine_setting()
    assert setting.slip[0] == pytest.approx(1.0 - case.machines[0].motor.rated_speed_rad_per_s / (50.0 * np.pi))
    assert 0.0 < setting.slip[0] < 0.03


def test_drives_pulse_and_open_breakers_stay_open():
    from studies.arrangements import breaker

    case = make(drive(), breaker("bus", "head", closed=False), cable("head", km=5.0))
    setting = make_setting(case, build_network(case))
    assert dict(zip(setting.network.switch_names, setting.closed)) == {"inverter": True, "gear": False}
    gains = find_gains(setting, 2j * np.pi * 250.0, 0)
    assert abs(gains[setting.network.node_names.index("bus")]) > 0.9
    assert not gains[setting.network.node_names.index("tail")].any()


def test_grid_is_fine_enough():
    """A series circuit of Q = 200: the grid's peak is 0.1 % from the true one at most, and chords tell the rest."""
    quality, centre = 200.0, 317.0

    def respond(hz):
        x = hz / centre
        return 1.0 / (1.0 - x**2 + 1j * x / quality)
    frequency, samples = refine_grid(respond, np.array([20.0, 300.0, 317.2, 5000.0]), lambda z: np.array([abs(z)]))
    assert max(np.abs(samples)) == pytest.approx(quality, rel=1e-3)
    dense = np.geomspace(20.0, 5000.0, 20001)
    chord = np.exp(np.interp(np.log(dense), np.log(frequency), np.log(np.abs(samples))))
    assert np.abs(chord / np.abs(respond(dense)) - 1.0).max() < 0.01
    assert len(frequency) < 200


def test_grid_of_nothing_is_not_refined():
    frequency, _ = refine_grid(lambda hz: 0.0, np.geomspace(10.0, 100.0, 5), lambda z: np.array([z]))
    assert len(frequency) == 9


def test_line_of_the_project_and_of_the_reference_are_one():
    """The exact two-port used for sizing against the reference's chain matrix."""
    own = line.Line(0.1e-3, 0.36e-6, 0.24e-9, 35e3)
    s = 2j * np.pi * np.array([50.0, 900.0])
    assert np.allclose(exact_two_port(s, 35e3, *own[:3]), line.chain_matrix(own, s)[:3], rtol=1e-12)
