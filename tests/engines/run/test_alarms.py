"""What a run answers when a drive has to be told something: trips, restarts and their number."""

import pytest

from engines.circuits import drive, list_moments, machine, make_case
from sim.engines.run.timeline import simulate


def held(**more):
    """A drive on a machine that never turns: it stays at its current limit."""
    return make_case(drive("bus", kv=6.0, kva=500.0, start_hz=5.0, hold_s=0.0, boost_pct=30.0, current_limit_pct=60.0,
                           stall_s=0.3, **more),
                     machine("bus", kv=6.0, load={"kind": "pump", "breakaway_pct": 500.0}), duration=4.0,
                     bandwidth_khz=0.5)


def test_a_drive_at_its_limit_trips_after_its_stall_time_and_says_why():
    result = simulate(held(), "envelope")
    (at, _), = list_moments(result, "trip", "inverter")
    assert 0.3 < at < 1.0
    label = next(mark.label for mark in result.events if mark.what == "trip")
    assert label == "inverter trips: at its current limit for too long"
    one = result.machines["booster"]
    assert one.tripped_at == pytest.approx(at) and "stall time" in one.trip_reason
    late = result.stretches[-1].t > at + 0.5
    assert result.stretches[-1].signals["inverter"]["emf"][late].max() == 0.0


@pytest.mark.parametrize("restarts", [1, 2])
def test_a_drive_starts_again_by_itself_so_often_and_no_more(restarts):
    result = simulate(held(restart_delay_s=0.5, restarts=restarts), "envelope")
    trips, starts = ([t for t, _ in list_moments(result, kind, "inverter")] for kind in ("trip", "start"))
    assert len(trips) == restarts + 1 and len(starts) == restarts + 1
    assert starts[1:] == pytest.approx([t + 0.5 for t in trips[:-1]])
