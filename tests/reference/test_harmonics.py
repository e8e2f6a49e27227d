"""The reference at other frequencies, proved on circuits solved by hand."""

import numpy as np
import pytest

from reference import harmonics, line

GRID = dict(name="host", node="bus", rated_kv=10.0, frequency_hz=50.0, short_circuit_mva=200.0, x_over_r=5.0,
            voltage_pu=1.0, phase_deg=30.0, x0_over_x1=2.0, earthed=True)
SHUNT = dict(name="load", node="bus", connection="parallel", earthed=False, capacitance_uf=10.0)
NODE = dict(name="bus", nominal_kv=10.0, stray_nf=1.0)
CABLE = {"name": "line", "from": "bus", "to": "tail", "length_km": 20.0, "resistance_ohm_per_km": 0.2,
         "inductance_mh_per_km": 0.4, "capacitance_uf_per_km": 0.2}
UNIT = {"name": "unit", "from": "bus", "to": "low", "rated_mva": 4.0, "from_kv": 10.0, "to_kv": 5.0, "tap_pct": 0.0,
        "impedance_pct": 8.0, "x_over_r": 15.0, "vector_group": "Dyn11", "no_load_current_pct": 0.5,
        "no_load_loss_pct": 0.1, "winding_nf": 2.0}


@pytest.mark.parametrize("hz", [50.0, 650.0])
def test_source_beside_a_capacitor(hz):
    """V^2/S at X/R = 5: R = 0.5/sqrt(26), X five times that at 50 Hz; the star of the load is not earthed."""
    w, r = 2.0 * np.pi * hz, 0.5 / np.sqrt(26.0)
    source = r + 1j * w * 5.0 * r / (100.0 * np.pi)
    positive = 1.0 / (1.0 / source + 1j * w * 10.001e-6)
    zero = 1.0 / (0.5 / source + 1j * w * 1e-9)
    found = harmonics.impedances({"grid": [GRID], "shunt": [SHUNT], "node": [NODE]}, "bus", hz)["bus"]
    assert found == (pytest.approx(zero, rel=1e-9), pytest.approx(positive, rel=1e-9))


def test_end_of_a_line():
    """Transfer of the chain matrix behind the source's impedance; strays of 1 nF at both ends."""
    hz, r = 350.0, 0.5 / np.sqrt(26.0)
    w = 2.0 * np.pi * hz
    source, stray = r + 1j * w * 5.0 * r / (100.0 * np.pi), 1j * w * 1e-9
    own = line.Line(0.2e-3, 0.4e-6, 0.2e-9, 20e3)
    divided = 1.0 / (1.0 + source * stray)
    expected = line.transfer(own, 1j * w, source * divided, stray).far_voltage * divided
    found = harmonics.gains({"grid": [GRID], "cable": [CABLE]}, hz)["tail"]
    assert found == pytest.approx(expected, rel=1e-9)


def test_behind_a_transformer():
    """Leakage and half of the core by hand: X and magnetising inductance grow with frequency, R and loss stay."""
    hz = 550.0
    w, ratio, r, base = 2.0 * np.pi * hz, 11.0, 0.5 / np.sqrt(26.0), 25.0 / 4.0
    share = 0.08 * base / np.hypot(1.0, 15.0)
    core = 0.5 * 4.0 / 25.0 * (0.001 - 1j * np.sqrt(0.005**2 - 0.001**2) / ratio) + 1j * w * 3e-9
    head = 0.5 * 4.0 / 100.0 * (0.001 - 1j * np.sqrt(0.005**2 - 0.001**2) / ratio) + 1j * w * 3e-9
    upstream = 0.25 / (1.0 / (r * (1.0 + 5j * ratio)) + head)
    expected = 1.0 / (1.0 / (upstream + share * (1.0 + 15j * ratio)) + core)
    found = harmonics.impedances({"grid": [GRID], "transformer": [UNIT]}, "low", hz)["low"][1]
    assert found == pytest.approx(expected, rel=1e-9)


def test_rated_frequency_changes_nothing():
    network = {"grid": [GRID], "transformer": [UNIT]}
    assert harmonics.at_frequency(network, 50.0)["transformer"][0] == pytest.approx(UNIT)
