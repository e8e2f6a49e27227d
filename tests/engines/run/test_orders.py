"""Orders of a case as a run carries them out: when, in which order, in which words."""

import pytest

from engines.circuits import breaker, drive, event, fault, grid, list_moments, machine, make_case, shunt
from sim.engines.run.timeline import simulate

LOAD = shunt("head", resistance_ohm=50.0)


def list_kinds(result, target):
    return [mark.what for mark in result.events if mark.where == target]


def test_orders_are_carried_out_in_time_whatever_their_place_in_the_case():
    case = make_case(grid(), breaker(closed=False), LOAD, event(0.06, "open"), event(0.02, "close"), duration=0.1)
    kinds = list_kinds(simulate(case, "waveform"), "gear")
    assert kinds[0] == "close" and kinds.index("open") > kinds.index("close")


@pytest.mark.parametrize("phases, earth, words", [
    ("a", True, "phase a to earth"), ("bc", False, "phases b and c"), ("ab", True, "phases a and b to earth"),
    ("abc", False, "three phases"), ("abc", True, "three phases to earth")])
def test_a_fault_is_told_in_the_words_of_the_trade(phases, earth, words):
    case = make_case(grid(), shunt("bus", resistance_ohm=50.0),
                     fault(0.02, phases, **({} if len(phases) == 1 else {"earth": earth})), duration=0.03,
                     bandwidth_khz=1.0)
    told = next(mark for mark in simulate(case).events if mark.what == "fault")
    assert told.label == f"short: {words}" and told.t == pytest.approx(0.02)


def test_a_drive_without_a_start_order_starts_at_once_and_one_with_it_then():
    for events, at in (((), 0.0), ((event(0.3, "start", "inverter"),), 0.3)):
        case = make_case(drive("bus"), shunt("bus", resistance_ohm=50.0), *events, duration=0.5)
        result = simulate(case, "envelope")
        assert [t for t, _ in list_moments(result, "start", "inverter")] == [pytest.approx(at)]
        volts = result.stretches[-1].signals["bus"]["voltage"]
        assert volts[result.stretches[-1].t < at].max(initial=0.0) == 0.0 and volts[-1] > 0.0


def test_load_and_speed_orders_change_what_they_name():
    case = make_case(drive("bus", kv=6.0, kva=4000.0, start_hz=10.0, hold_s=0.0, target_hz=12.0, ramp_hz_per_s=10.0),
                     machine("bus", kv=6.0, load={"kind": "pump"}, inertia=5.0),
                     event(0.5, "speed", "inverter", to_hz=14.0), event(0.8, "load", "booster", load_pct=50.0),
                     duration=1.2)
    result = simulate(case, "envelope")
    stretch = result.stretches[-1]
    hz = stretch.signals["inverter"]["frequency"]
    assert hz[stretch.t < 0.5].max() == pytest.approx(12.0, abs=0.02) and hz[-1] == pytest.approx(14.0, abs=0.02)
    assert [mark.label for mark in result.events if mark.what == "load"] == ["booster load 50 %"]
    assert [mark.label for mark in result.events if mark.what == "speed"] == ["inverter to 14 Hz"]


def test_a_breaker_opened_in_the_envelope_engine_alone_is_warned_of():
    case = make_case(grid(), breaker(), LOAD, event(0.05, "open"), duration=0.1)
    warned = [text for text in simulate(case, "envelope").warnings if "without waiting for current zeros" in text]
    assert len(warned) == 1 and "gear opened at t = 0.050 s" in warned[0]
