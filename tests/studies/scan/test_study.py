"""Whole scans: what holds for every passive network, checked on the examples; spans; what is told of them."""

import json
import re
from pathlib import Path

import numpy as np
import pytest

from sim.case import load_case
from sim.network.build import build_network
from sim.studies.scan.crossings import ORDERS
from sim.studies.scan.study import describe_scan, find_span, scan
from sim.studies.survey.network import HIGHEST_HZ, LOWEST_HZ
from studies.arrangements import cable, drive, grid, make, motor

CASES = Path(__file__).parents[3] / "cases"
# one of each kind: no drive, drives, three levels of voltage, reactors, arresters, faults, isolated neutral, filters
EXAMPLES = ("ambervane_35", "cobblewrack", "lanternfall", "lanternfall_filter", "morrowgate", "pellucid", "quillfen",
            "tessarook", "umbrafold", "starting/autotransformer", "starting/capacitor", "starting/series_reactor",
            "switching/chopping_suppressor", "switching/fault_isolated_neutral", "switching/fault_two_phase",
            "switching/inrush_remanence", "switching/reignition_arrester", "switching/trapped_charge_arrester")
# Contacts of 0.1 mohm, 1e4 S, beside a node that has nothing but a stray of 1 nF at 10 Hz, 1e-7 S: 1e11 of the 5e15
# that a double holds are lost, 2e-5; five times that
ROUNDING = 1e-4


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_network_at_rest_is_passive_and_reciprocal(name):
    """With its rotors at standstill a network takes in power whatever is driven into its nodes; the transfer from
    one node to another is as large as the way back, vector groups turn its angle only; what rings dies away (any text
    on networks)."""
    found = scan(load_case(CASES / f"{name}.toml"), slip=1.0)
    for response in found.responses.values():
        z = response.impedance
        assert np.isfinite(z).all() and np.isfinite(response.gain).all()
        # power taken in by any set of currents: the Hermitian part, every node by the root of its own impedance
        root = np.sqrt(np.abs(np.einsum("fkk->fk", z)))
        unit = z / root[:, :, None] / root[:, None, :]
        assert np.linalg.eigvalsh(unit + unit.conj().transpose(0, 2, 1)).min() > -ROUNDING * np.abs(unit).max()
        assert (np.abs(np.abs(unit) - np.abs(unit.transpose(0, 2, 1))) < ROUNDING).all()
    for sequence, modes in found.resonances.items():
        for mode in modes:
            assert 0.0 < mode.damping_ratio < np.sqrt(0.5) and mode.sequence == sequence
            assert found.lowest_hz < mode.frequency_hz < found.highest_hz
            assert mode.participation.sum() == pytest.approx(1.0)


@pytest.mark.parametrize("name", ("lanternfall", "umbrafold"))
def test_what_is_told_is_plain_json(name):
    """Keys of the project's own in lower case with underscores, no NaN; names of the case are kept as they are."""
    case = load_case(CASES / f"{name}.toml")
    told = json.loads(json.dumps(describe_scan(scan(case)), allow_nan=False))

    def keys(value):
        if isinstance(value, dict):
            return set(value).union(*(keys(each) for each in value.values()))
        return set().union(*(keys(each) for each in value)) if isinstance(value, list) else set()
    assert all(re.fullmatch(r"[a-z][a-z0-9_]*", key) for key in keys(told))
    assert {"lowest_hz", "highest_hz", "resonances", "drives", "gain_limit"} <= set(told)


def test_span_reaches_what_the_orders_need():
    """5 times 1 Hz is below the usual band; 25 times 240 Hz is above it; the bandwidth ends it."""
    slow_and_fast = drive(start_hz=1.0, target_hz=240.0, frequency_hz=240.0)
    def find(case):
        return find_span(case, build_network(case), ORDERS)

    assert find(make(slow_and_fast, cable(km=1.0), bandwidth_khz=20.0)) == (5.0, 6000.0)
    assert find(make(slow_and_fast, cable(km=1.0), bandwidth_khz=2.0)) == (5.0, 2000.0)
    assert find(make(grid(), cable(km=1.0), bandwidth_khz=20.0)) == (LOWEST_HZ, HIGHEST_HZ)


def make_far(host_hz, drive_hz=80.0):
    """A drive with a cable and a motor of its own frequency behind a front end at a host."""
    return make(grid(node="host_bus", kv=3.3, mva=100.0, frequency_hz=host_hz),
                drive(frequency_hz=drive_hz, target_hz=drive_hz, front_end={"node": "host_bus"}),
                cable(km=30.0), motor("tail", kv=3.3, frequency_hz=drive_hz))


def test_scan_of_a_drive_does_not_depend_on_the_frequency_of_the_host():
    """Behind a host of 50 and of 80 Hz: the same modes of the drive's island and slips, speed of the rotor by the
    drive's own frequency.  The grid of frequencies is shared with the host's resonances, which leaves a crossing the
    0.1 % of a peak that the grid allows."""
    found = [scan(make_far(hz)) for hz in (50.0, 80.0)]
    told = [describe_scan(one) for one in found]
    own = [[mode["frequency_hz"] for mode in one["resonances"]["positive"] if mode["source"] == "inverter"]
           for one in told]
    assert own[0] == pytest.approx(own[1], rel=1e-9) and own[0]
    crossings = [one["drives"]["inverter"]["crossings"] for one in told]
    assert [one["order"] for one in crossings[0]] == [one["order"] for one in crossings[1]] and crossings[0]
    for key in ("drive_hz", "gain", "fundamental_pu"):
        assert [one[key] for one in crossings[0]] == pytest.approx([one[key] for one in crossings[1]], rel=1e-3)
    slip = told[0]["slip_pu"]["pump"]
    assert told[0]["slip_pu"] == told[1]["slip_pu"]
    assert found[0].setting.rotor[0] == pytest.approx(2.0 * np.pi * 80.0 * (1.0 - slip), rel=1e-12)


def test_slip_refers_to_the_frequency_of_the_island():
    """A 60 Hz motor on a 50 Hz grid turns below 50 Hz, at its rated slip."""
    setting = scan(make(grid(kv=6.6, frequency_hz=50.0), motor("bus", frequency_hz=60.0, rated_rpm=1782.0))).setting
    assert setting.slip[0] == pytest.approx(0.01, rel=1e-9)
    assert setting.rotor[0] == pytest.approx(2.0 * np.pi * 50.0 * 0.99, rel=1e-9)
