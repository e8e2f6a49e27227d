"""One run from its first state to its end: what it tells on its way, what it leaves when it is stopped."""

import numpy as np
import pytest

from engines.circuits import breaker, event, fault, grid, list_moments, machine, make_case, shunt
from sim.engines.run.timeline import simulate
from sim.errors import CaseError


def switched(**study):
    return make_case(grid(), breaker(closed=False), shunt("head", resistance_ohm=50.0), event(0.1, "close"),
                     **({"duration": 0.5} | study))


def test_stretches_follow_each_other_without_a_gap():
    """Envelope, a closing in phases, envelope: together they reach from the start to the end."""
    result = simulate(switched())
    assert [stretch.engine for stretch in result.stretches] == ["envelope", "waveform", "envelope"]
    for old, new in zip(result.stretches, result.stretches[1:]):
        assert 0.0 < new.t[0] - old.t[-1] < 5e-3
    assert result.stretches[-1].t[-1] == pytest.approx(0.5)
    assert [one["to"] for one in result.handovers] == ["waveform", "envelope"]


def test_phases_begin_before_a_switch_and_last_until_it_is_quiet():
    """20 ms ahead of the order, and for 0.1 s after it at the least."""
    forth, back = (one["t_s"] for one in simulate(switched()).handovers)
    assert forth == pytest.approx(0.08, abs=5e-4)
    assert 0.2 <= back < 0.3


@pytest.mark.parametrize("engine", ["auto", "envelope", "waveform"])
def test_progress_rises_to_one(engine):
    told = []
    simulate(switched(), engine, told.append)
    assert told == sorted(told) and told[0] >= 0.0 and told[-1] == pytest.approx(1.0)


@pytest.mark.parametrize("engine", ["envelope", "waveform"])
def test_one_engine_alone_hands_nothing_over(engine):
    result = simulate(switched(), engine)
    assert {stretch.engine for stretch in result.stretches} == {engine}
    assert [one["to"] for one in result.handovers] == ["waveform"] * (engine == "waveform")


def test_a_run_that_is_stopped_keeps_what_it_has():
    """Control-C half-way: the exception carries the result so far, which says that it is not whole."""
    def stop(share):
        if share > 0.5:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt) as caught:
        simulate(switched(), "auto", stop)
    partial = caught.value.partial
    assert partial.failure == "interrupted"
    assert 0.2 < partial.stretches[-1].t[-1] < 0.5
    assert partial.energy.throughput > 0.0 and list_moments(partial, "close")


def test_the_envelope_engine_refuses_a_fault_in_words():
    case = make_case(grid(), shunt("bus", resistance_ohm=50.0), fault(0.02, "a"), duration=0.05)
    with pytest.raises(CaseError, match="needs phase quantities"):
        simulate(case, "envelope")


def test_the_same_case_gives_the_same_numbers():
    one, other = simulate(switched(duration=0.2)), simulate(switched(duration=0.2))
    for first, second in zip(one.stretches, other.stretches):
        assert np.array_equal(first.t, second.t)
        for name, signals in first.signals.items():
            assert all(np.array_equal(values, second.signals[name][key]) for key, values in signals.items())


def test_a_dead_network_needs_no_phases():
    """No source is on: a breaker operates without a hand-over."""
    case = make_case(breaker("bus", "head"), machine("head"), shunt("bus", resistance_ohm=50.0), grid("far"),
                     breaker("far", "bus", name="feeder", closed=False), event(0.02, "open"), duration=0.1)
    result = simulate(case)
    assert [m.what for m in result.events if m.where == "gear"][0] == "open"
