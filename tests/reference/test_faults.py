"""Fault formulas against nodal solutions in phase coordinates, and ratios that any text-book states."""

import numpy as np
import pytest

from . import faults, line, network_solutions, three_phase

EMF = 6600.0 / np.sqrt(3.0) * np.exp(0.4j)
POSITIVE, ROTATING = 0.2 + 1.4j, 0.3 + 1.1j
EARTHED = {"equal": (0.9 + 2.5j, POSITIVE, POSITIVE), "rotating machine": (0.9 + 2.5j, POSITIVE, ROTATING),
           "cable alone": (-900j, POSITIVE, POSITIVE)}
ISOLATED = {"isolated": (np.inf, POSITIVE, ROTATING)}
RESISTANCES = pytest.mark.parametrize("phase, earth", [(0.5, 0.0), (0.3, 2.0), (1e-3, 0.0), (1e-3, 5.0)])
# double precision against admittances that lie a factor 1e6 apart (a fault of 1 mohm, 1e3 ohm to earth)
EXACT = 1e-9


def solve_nodes(impedances, phases, phase, earth):
    """Phase currents into the fault and voltages at it, by nodal analysis."""
    element, drive = three_phase.source("bus", EMF, *impedances)
    ends = [("bus", faults.PHASES.index(name)) for name in phases]
    names, matrix = faults.fault_element(ends, phase, earth)
    v = three_phase.solve([element, (names, matrix)], drive)
    currents = np.zeros(3, dtype=complex)
    for name, i in zip(names, matrix @ np.array([v[name] for name in names])):
        currents[name[1]] = i
    return currents, three_phase.phase_voltages(v, "bus")


def assert_agreement(impedances, phases, phase, earth, earthed):
    found = faults.solve_fault(faults.Thevenin(EMF, *impedances), phases, phase, earth, earthed)
    currents, voltages = solve_nodes(impedances, phases, phase, earth if earthed else None)
    assert np.allclose(found.currents, currents, rtol=0.0, atol=EXACT * abs(EMF / (POSITIVE + phase)))
    assert np.allclose(found.voltages, voltages, rtol=0.0, atol=EXACT * abs(EMF))
    assert found.displacement == pytest.approx(voltages.mean(), abs=EXACT * abs(EMF))


@pytest.mark.parametrize("impedances", (EARTHED | ISOLATED).values(), ids=EARTHED | ISOLATED)
@pytest.mark.parametrize("phases", faults.KINDS)
@RESISTANCES
def test_faults_to_earth_agree_with_phase_coordinates(impedances, phases, phase, earth):
    assert_agreement(impedances, phases, phase, earth, True)


@pytest.mark.parametrize("impedances", EARTHED.values(), ids=EARTHED)
@pytest.mark.parametrize("phases", ["ab", "bc", "ca", "abc"])
@RESISTANCES
def test_faults_off_earth_agree_with_phase_coordinates(impedances, phases, phase, earth):
    assert_agreement(impedances, phases, phase, earth, False)


def test_known_ratios_of_fault_currents():
    """Equal sequence impedances: earth fault as the three-phase one, line fault sqrt(3)/2 of it."""
    seen = faults.Thevenin(EMF, POSITIVE, POSITIVE, POSITIVE)
    three, line, earth = (np.abs(faults.solve_fault(seen, kind).currents).max() for kind in ("abc", "bc", "a"))
    assert three == pytest.approx(abs(EMF / POSITIVE), rel=1e-12)
    assert faults.solve_fault(seen, "bc", earthed=False).currents[1] == pytest.approx(
        -1j * np.sqrt(3.0) / 2.0 * EMF / POSITIVE, rel=1e-12)
    assert line == pytest.approx(three, rel=1e-12)       # two phases and earth: each as if all three were short
    assert earth == pytest.approx(three, rel=1e-12)


def test_isolated_neutral_takes_the_full_phase_voltage():
    """Healthy phases rise to the line voltage, no current flows."""
    found = faults.solve_fault(faults.Thevenin(EMF, np.inf, POSITIVE, POSITIVE), "b")
    assert np.abs(found.currents).max() == 0.0
    assert np.abs(found.voltages) / abs(EMF) == pytest.approx([np.sqrt(3.0), 0.0, np.sqrt(3.0)], rel=1e-12, abs=1e-12)
    assert abs(found.displacement) == pytest.approx(abs(EMF), rel=1e-12)


def test_earth_fault_factor_of_an_effectively_earthed_network():
    """X0/X1 = 3, R = 0: healthy phases at sqrt(3) sqrt(x^2 + x + 1)/(x + 2) = 1.249 of the phase voltage, below
    the 1.4 that "effectively earthed" allows (IEC 60071-1, from memory, to be checked)."""
    found = faults.solve_fault(faults.Thevenin(EMF, 3j, 1j, 1j), "a")
    assert np.abs(found.voltages[1:]) / abs(EMF) == pytest.approx(np.sqrt(3.0 * 13.0) / 5.0, rel=1e-12)


def test_capacitive_earth_fault_current():
    """Isolated neutral with capacitance to earth: three times the charging current of a phase, raised
    by the series impedance: (Z1 + Z2)/Z0, 0.3 %."""
    found = faults.solve_fault(faults.Thevenin(EMF, -900j, POSITIVE, POSITIVE), "c")
    assert abs(found.currents[2]) == pytest.approx(3.0 * abs(EMF) / (900.0 - 2.0 * POSITIVE.imag), rel=1e-6)


def test_fault_along_a_feeder_is_one_behind_the_impedances_seen_there():
    """Nodal solution with the cable in two exact pieces and all strays, against the chain matrices of each sequence.

    Left out of the latter: strays of 1 nF at both ends against 3 and 2 uF of cable, behind 0.2 ohm: 1e-4.
    """
    kind, resistance, w = "a", 0.5, 100j * np.pi
    cables = [{"from": "bus", "to": "spot", "length_km": 17.0}, {"from": "spot", "to": "tail", "length_km": 11.0}]
    cables = [row | {"resistance_ohm_per_km": 0.246, "inductance_mh_per_km": 0.41, "capacitance_uf_per_km": 0.18}
              for row in cables]
    supply = {"node": "bus", "rated_kv": 10.0, "short_circuit_mva": 500.0, "x_over_r": 3.0, "frequency_hz": 50.0,
              "voltage_pu": 1.0, "phase_deg": 0.0, "x0_over_x1": 2.0, "earthed": True}
    load = {"node": "tail", "connection": "parallel", "resistance_ohm": 400.0, "earthed": False}
    network = {"grid": [supply], "cable": cables, "shunt": [load]}
    found = network_solutions.nodal_phasors(network, [faults.fault_element([("spot", 0)], resistance, 0.0)])["spot"]
    impedances, emf = [], 0.0
    for k, source in enumerate(network_solutions.grid_impedance(supply) * np.array([2.0, 1.0])):
        near, far = (network_solutions.cable_lines(row)[k] for row in cables)
        a, b, c, d = line.chain_matrix(near, w)
        y = line.admittance_matrix(far, w)
        behind = y[0, 0] - y[0, 1] * y[1, 0] / (y[1, 1] + k / 400.0)        # the load has no zero sequence
        feeding = (a + c * source) / (b + d * source)
        impedances.append(1.0 / (feeding + behind + 1e-9 * w))
        emf = 1e4 / np.sqrt(3.0) / (b + d * source) * impedances[-1]
    expected = faults.solve_fault(faults.Thevenin(emf, *impedances, impedances[1]), kind, resistance)
    assert np.abs(found - expected.voltages).max() < 1e-4 * abs(emf)
    assert found[0] / resistance == pytest.approx(expected.currents[0], rel=1e-4)
    assert three_phase.sequences(found)[0] == pytest.approx(expected.displacement, rel=1e-4)
