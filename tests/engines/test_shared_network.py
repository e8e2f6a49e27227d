"""A network belongs to no run: its tables stay as they were built, and runs on it know nothing of each other."""

import hashlib
from concurrent.futures import ThreadPoolExecutor

import pytest

from engines.circuits import breaker, cable, drive, event, grid, list_moments, machine, make_case, shunt, write
from sim.engines.run import timeline
from sim.network.build import build_network

SPAN = 1.2


def make_eventful():
    """A host drive that stalls, trips and starts again; a far drive that charges its link; a breaker that opens."""
    host = drive("host", kv=6.0, kva=500.0, name="host_drive", start_hz=5.0, hold_s=0.0, boost_pct=30.0,
                 current_limit_pct=60.0, stall_s=0.2, restart_delay_s=0.3, restarts=1)
    far = (drive("out", kv=6.0, kva=2000.0, name="far_drive", start_hz=5.0, voltage_rise_s=0.1)
           + write("[drive.front_end]", node="bus", charged=False) + write("[drive.dc_link]", loss_pct=1.0))
    return make_case(
        host, machine("host", kv=6.0, name="held", load={"kind": "pump", "breakaway_pct": 500.0}),
        grid(mva=200.0), far, machine("out", kv=6.0, kw=1000.0, name="turning", load={"kind": "pump"}),
        breaker("bus", "head"), cable(km=5.0), shunt("tail", resistance_ohm=200.0), event(0.5, "start", "far_drive"),
        event(0.8, "open"), duration=SPAN, bandwidth_khz=0.5)


def hash_arrays(network):
    """Hash of every array of the tables, by its name."""
    groups = network.tables._asdict()
    layout = groups.pop("layout")
    found = {f"{group}.{name}": hashlib.sha256(array.tobytes()).hexdigest()
             for group, table in groups.items() for name, array in table._asdict().items()}
    return found | {"layout": tuple(layout)}


def run_on(network, case, monkeypatch, count=1, workers=1):
    """Results of so many runs on one network, by so many threads at once."""
    monkeypatch.setattr(timeline, "build_network", lambda given: network)
    with ThreadPoolExecutor(workers) as pool:
        return [one.result() for one in [pool.submit(timeline.simulate, case) for _ in range(count)]]


@pytest.fixture
def eventful():
    case = make_eventful()
    return case, build_network(case)


def assert_equal(one, other):
    """Bit by bit: samples, log, peaks, books and work."""
    assert [stretch.engine for stretch in one.stretches] == [stretch.engine for stretch in other.stretches]
    for first, second in zip(one.stretches, other.stretches):
        assert first.t.tobytes() == second.t.tobytes() and first.signals.keys() == second.signals.keys()
        for name, signals in first.signals.items():
            assert signals.keys() == second.signals[name].keys()
            assert all(values.tobytes() == second.signals[name][key].tobytes() for key, values in signals.items())
    for part in ("events", "peaks", "machines", "energy", "steps", "handovers", "warnings", "interruptions"):
        assert getattr(one, part) == getattr(other, part), part


def test_tables_stay_as_they_were_built(eventful, monkeypatch):
    case, network = eventful
    before = hash_arrays(network)
    (result,) = run_on(network, case, monkeypatch)
    assert len(list_moments(result, "trip", "host_drive")) == 2 == len(list_moments(result, "start", "host_drive"))
    assert len(list_moments(result, "charged", "far_drive")) == 1
    assert len(list_moments(result, "pole_open")) == 3
    assert hash_arrays(network) == before


@pytest.mark.parametrize("workers", [1, 2], ids=("one after the other", "two threads"))
def test_two_runs_on_one_network_are_equal_to_the_bit(eventful, monkeypatch, workers):
    case, network = eventful
    one, other = run_on(network, case, monkeypatch, 2, workers)
    assert_equal(one, other)
    assert one.failure is None and one.stretches[-1].t[-1] == pytest.approx(SPAN, abs=1e-3)     # last one stored
