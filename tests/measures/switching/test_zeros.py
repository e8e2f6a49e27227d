"""Stretches without current zero, against closed forms."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sim.measures.switching.zeros import find_floor, find_longest, find_wait, find_zeros, list_zeros, measure_longest
from sim.results.run import Event, Interruption

from ..synthetic import make_breaker, make_case, make_node, make_run, make_stretch

W = 2.0 * np.pi * 50.0
T = np.linspace(0.0, 2.0, 40001)


def fifty(t):
    return 50.0


def measure(i, t=T, floor=1.0):
    return measure_longest(t, i, "a", floor, fifty)


@given(angle=st.floats(0.0, 6.28), offset=st.floats(-0.99, 0.99))
def test_zeros_lie_where_the_sine_passes_zero(angle, offset):
    """Zeros of sin(x + angle) + offset by the arc sine; straight between samples 50 us apart: error (w dt)^2 / 8."""
    t = T[:2001]
    bounds, signs = find_zeros(t, 100.0 * (np.sin(W * t + angle) + offset))
    x = W * bounds[1:-1] + angle
    np.testing.assert_allclose(np.sin(x), -offset, atol=1e-4)
    assert (signs[1:] != signs[:-1]).all() and len(signs) == len(bounds) - 1


def test_a_sine_never_misses_a_zero():
    # half a cycle from zero to zero, found to the square of a step's angle
    assert measure(100.0 * np.sin(W * T)).cycles == pytest.approx(0.0, abs=1e-3)


def test_offset_beyond_the_crest_takes_the_zeros_away():
    """One and a half crests of offset over five whole cycles: 4.5 cycles longer than half a one."""
    gap = measure(100.0 * (np.sin(W * T) + 1.5 * (T < 0.1)))
    assert gap.cycles == pytest.approx(4.5, abs=0.01)        # a step of 50 us is 2.5e-3 cycles
    assert (gap.start, gap.end) == (0.0, pytest.approx(0.1, abs=1e-4))


@pytest.mark.parametrize("share", [0.55, 0.7, 0.9])
def test_reactors_of_more_than_half_the_charging_current_take_the_zeros_away(share):
    """Cable and reactors closed at voltage zero: i = (1 - k) cos wt + k exp(-t/T), of the charging current.

    While k exp(-t/T) > 1 - k there is no zero: T ln(k / (1 - k)).  Known from cables with shunt reactors, with the
    bound of 50 % (CIGRE brochures on long AC cables, from memory, to be checked).  Reactors of X/R = 300.
    """
    t, decay = np.linspace(0.0, 3.0, 60001), 300.0 / W
    exact = decay * np.log(share / (1.0 - share))
    gap = measure(100.0 * ((1.0 - share) * np.cos(W * t) + share * np.exp(-t / decay)), t, floor=0.0)
    assert gap.start == 0.0
    assert exact <= gap.end <= exact + 0.02          # the next trough of the wave passes zero: within a cycle


def test_reactors_of_less_than_half_leave_the_zeros():
    i = 100.0 * (0.6 * np.cos(W * T) + 0.4 * np.exp(-T * W / 300.0))
    assert measure(i).cycles < 0.5


def test_current_that_every_breaker_chops_is_a_zero():
    assert measure(np.full(len(T), 0.9)).cycles == 0.0
    assert measure(np.full(len(T), 2.0)).cycles == pytest.approx(2.0 * 50.0 - 0.5, rel=1e-12)
    assert measure(np.full(len(T), 2.0), floor=find_floor(make_breaker(chopping_a=3.0))).cycles == 0.0
    assert find_floor(make_breaker(chopping_a=0.0)) == find_floor(make_breaker()) == 1.0


def test_a_stretch_at_the_floor_is_one_zero():
    """A sine of 100 A from 0.1 s to 0.3 s: 19 zeros within, whatever the floor; none in the dead time around it."""
    i = 100.0 * np.sin(W * T) * ((T > 0.1) & (T < 0.3))
    for floor in (0.0, 1.0, 20.0):
        zeros = list_zeros(T, i, floor)
        np.testing.assert_allclose(zeros, 0.11 + 0.01 * np.arange(19), atol=5e-5)      # within one sample
    assert len(list_zeros(T, 0.0 * T, 1.0)) == 0


def make_pole_run(events=(), **currents):
    signals = {"feeder_breaker": {f"current_{pole}": i for pole, i in currents.items()}}
    return make_run(make_case(), make_stretch(T, signals, "waveform"), events=list(events))


def test_the_worst_pole_counts():
    sine = 100.0 * np.sin(W * T)
    gap = find_longest(make_pole_run(a=sine, b=sine + 150.0 * (T < 0.2), c=sine), make_breaker(), fifty)
    assert gap.pole == "b" and gap.cycles == pytest.approx(9.5, abs=0.01)


def test_slow_currents_of_a_motor_that_runs_down_miss_no_zero():
    """50 Hz until the supply opens at 1 s, then 5 Hz, whose zeros lie 5 cycles of the supply apart."""
    i = np.where(T < 1.0, 100.0 * np.sin(W * T), 80.0 * np.sin(0.1 * W * T))
    run = make_pole_run([Event(1.0, "open", "host_breaker", "host_breaker opens")], a=i, b=i, c=i)
    run.case.breakers[:] = [make_breaker("host_breaker", "host", "bus"), make_breaker(source="bus")]
    run.case.nodes.append(make_node("bus"))
    gap = find_longest(run, run.case.breakers[1], fifty)
    assert gap.cycles < 0.01 and gap.end <= 1.0
    run.events.clear()
    assert find_longest(run, run.case.breakers[1], fifty).cycles == pytest.approx(4.5, abs=0.2)     # floor of 1 A


def test_without_pole_currents_nothing_is_known():
    assert find_longest(make_run(make_case(), make_stretch(T, {})), make_breaker(), fifty) is None


def order(opened, separated=0.5):
    return Interruption("feeder_breaker", "a", 0.5, separated, opened, 0.0, 0.0, 0.0, 0)


def test_wait_counts_from_the_parting_of_the_contacts():
    run = make_pole_run(a=100.0 + 0.0 * T)
    assert find_wait(run, make_breaker(), order(0.59), 0.59, fifty) == pytest.approx(4.0, rel=1e-9)
    assert find_wait(run, make_breaker(), order(0.59, 0.55), 0.59, fifty) == pytest.approx(1.5, rel=1e-9)
    assert find_wait(run, make_breaker(), order(0.505), 0.505, fifty) == 0.0


def test_a_pole_that_never_interrupts_waits_as_long_as_it_carries():
    run = make_pole_run(a=np.where(T < 0.7, 100.0, 0.0))
    # the last sample with current lies up to one step of 50 us, 2.5e-3 cycles, before its end
    assert find_wait(run, make_breaker(), order(None), None, fifty) == pytest.approx(9.5, abs=0.003)
    closed = make_pole_run([Event(0.6, "close", "feeder_breaker", "closes")], a=100.0 + 0.0 * T)
    assert find_wait(closed, make_breaker(), order(None), None, fifty) == pytest.approx(4.5, abs=0.003)
    assert find_wait(make_pole_run(a=0.0 * T), make_breaker(), order(None), None, fifty) == 0.0
