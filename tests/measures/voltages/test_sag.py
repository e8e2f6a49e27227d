"""Sag by the rule of IEC 61000-4-30 (from memory, to be checked).

A dip starts when Urms(1/2) of any channel falls below the threshold and ends when all are at or above
threshold plus hysteresis; the residual voltage is the lowest Urms(1/2).  Threshold 90 %, hysteresis 2 %.
"""

import numpy as np
import pytest

from sim.measures import summarise
from sim.measures.voltages.sag import find_dips
from sim.results.run import Event

from ..synthetic import (
    BASE,
    RATED_SPEED,
    make_breaker,
    make_case,
    make_drive_case,
    make_envelope,
    make_event,
    make_node,
    make_phases,
    make_run,
    make_stretch,
)


def read_node(run, name="host"):
    return summarise(run)["nodes"][name]


def bare_case(**parts):
    return make_case(**({"machines": [], "breakers": [], "nodes": [make_node("host")]} | parts))


def level_run(times, levels, case=None, **more):
    """An envelope that stands at each level from its time on (jumps within 1 us), until 10 s."""
    corners, values = [0.0], [levels[0]]
    for when, before, after in zip(times, levels, levels[1:]):
        corners += [when - 1e-6, when]
        values += [before, after]
    case = case or bare_case()
    t = np.array([*corners, 10.0])
    return make_run(
        case, make_envelope(case, t, np.zeros(len(t)), BASE * np.array([*values, values[-1]])), **more
    )


def test_rectangular_dip_in_a_waveform():
    """1 pu, 0.7 pu from 2.0 s to 2.5 s: residual 0.7, depth 30 %.

    The window ending at 2.01 s holds half a cycle of each: sqrt((1 + 0.49) / 2) = 0.863 < 0.9 begins the dip.
    After 2.5 s the mixed window gives 0.863 again (no end), the next a whole 1 pu at 2.52 s: 0.51 s.
    """
    t = np.linspace(0.0, 4.0, 160001)
    volts = np.where((t >= 2.0 - 1e-9) & (t < 2.5 - 1e-9), 0.7 * BASE, BASE)
    node = read_node(make_run(bare_case(), make_stretch(t, {"host": make_phases(t, volts)}, "waveform")))
    assert node["initial_urms_pu"] == pytest.approx(1.0, rel=1e-4)
    assert node["min_urms_pu"] == pytest.approx(0.7, rel=1e-4)
    assert node["sag_depth_pct"] == pytest.approx(30.0, abs=0.01)
    assert node["sag_duration_s"] == pytest.approx(0.51, abs=1e-6)


def test_same_dip_in_an_envelope():
    node = read_node(level_run([2.0, 2.5], [1.0, 0.7, 1.0]))
    # one jump of 1 us in a 20 ms window: 5e-5 of the mean square
    assert node["min_urms_pu"] == pytest.approx(0.7, rel=1e-4)
    assert node["sag_duration_s"] == pytest.approx(0.51, abs=1e-6)


def test_dip_over_a_handover_is_one_dip():
    """Envelope until 1.003 s, waveform to 2.0071 s, envelope again; 0.8 pu from 0.5 s to 2.5 s throughout."""
    def piece(begin, end, waveform):
        if waveform:
            t = np.linspace(begin, end, 40001)
            return make_stretch(t, {"host": make_phases(t, 0.8 * BASE, angle=0.4)}, "waveform")
        corners = np.array([begin, 0.5 - 1e-6, 0.5, 2.5 - 1e-6, 2.5, end])
        t = np.unique(np.clip(corners, begin, end))
        levels = np.where((t >= 0.5) & (t < 2.5 - 1e-9), 0.8, 1.0)
        return make_stretch(t, {"host": {"voltage": BASE * levels}})

    case = bare_case()
    run = make_run(case, piece(0.0, 1.003, False), piece(1.003, 2.0071, True), piece(2.0071, 3.0, False))
    node = read_node(run)
    assert node["min_urms_pu"] == pytest.approx(0.8, rel=1e-4)
    # begins with the second half cycle (the first mixed window is sqrt(0.82) = 0.906, above 0.9): 0.52 s;
    # ends at 2.52 s (sqrt(0.82) is below 0.92)
    assert node["sag_duration_s"] == pytest.approx(2.0, abs=1e-6)


def test_hysteresis_holds_the_dip_between_90_and_92_percent():
    t = np.arange(6.0)
    every = np.ones(6, dtype=bool)
    assert find_dips(np.array([1.0, 0.85, 0.91, 0.919, 0.92, 1.0]), t, every) == [(1.0, 4.0, 0.85)]
    assert find_dips(np.array([1.0, 0.91, 0.90, 0.91, 0.905, 1.0]), t, every) == []     # never below 0.9


def test_two_dips_the_deepest_gives_the_duration():
    t = np.arange(8.0)
    u = np.array([1.0, 0.8, 1.0, 0.7, 0.7, 0.7, 1.0, 1.0])
    assert find_dips(u, t, np.ones(8, dtype=bool)) == [(1.0, 2.0, 0.8), (3.0, 6.0, 0.7)]
    node = read_node(level_run([1.0, 1.5, 3.0, 4.0], [1.0, 0.8, 1.0, 0.7, 1.0]))
    assert node["sag_duration_s"] == pytest.approx(1.01, abs=1e-6)


def test_dip_that_outlasts_the_run_ends_with_it():
    t = np.arange(4.0)
    assert find_dips(np.array([1.0, 1.0, 0.8, 0.85]), t, np.ones(4, dtype=bool)) == [(2.0, 3.0, 0.8)]


def test_any_phase_below_counts():
    t = np.linspace(0.0, 1.0, 20001)
    volts = make_phases(t, BASE)
    volts["voltage_c"] *= 0.75
    node = read_node(make_run(bare_case(), make_stretch(t, {"host": volts}, "waveform")))
    assert node["min_urms_pu"] == pytest.approx(0.75, rel=1e-4)
    assert node["max_urms_pu"] == pytest.approx(1.0, rel=1e-4)


def test_shallow_dip_has_depth_but_no_duration():
    node = read_node(level_run([2.0, 2.5], [1.0, 0.95, 1.0]))
    assert node["sag_depth_pct"] == pytest.approx(5.0, abs=0.01)
    assert node["sag_duration_s"] == 0.0


def test_no_depth_above_the_base():
    node = read_node(level_run([], [1.04]))
    assert node["sag_depth_pct"] == 0.0
    assert node["min_urms_pu"] == pytest.approx(1.04, rel=1e-12)


def dead_ended_run(kind, when_off):
    """Behind a breaker: dead to 2 s, 0.95 pu to the opening, then dying away."""
    case = make_case(machines=[], breakers=[make_breaker(closed=False)],
                     events=[make_event("close", "feeder_breaker", 2.0)])
    if kind == "open":
        case.events.append(make_event("open", "feeder_breaker", when_off))
    events = [Event(2.0, "close", "feeder_breaker", "close"), Event(when_off, kind, "feeder_breaker", kind)]
    return level_run([2.0, when_off + 0.004], [0.0, 0.95, 0.1], case, events=events)


@pytest.mark.parametrize("kind", ["open", "pole_open", "trip"])
def test_dead_time_before_and_after_is_no_sag(kind):
    run = dead_ended_run(kind, 6.003)
    node = read_node(run, "motor_bus")
    assert node["initial_urms_pu"] == pytest.approx(0.95, rel=1e-4)
    assert node["min_urms_pu"] == pytest.approx(0.95, rel=1e-4)
    assert node["sag_duration_s"] == 0.0


def test_voltage_after_the_opening_still_counts_as_overvoltage():
    """A machine left on its cable can drive the voltage up after the trip."""
    case = make_case(machines=[], events=[make_event("open", "feeder_breaker", 5.0)])
    run = level_run([5.1], [1.0, 1.4], case, events=[Event(5.0, "open", "feeder_breaker", "open")])
    node = read_node(run, "motor_bus")
    assert node["max_urms_pu"] == pytest.approx(1.4, rel=1e-9)
    assert node["min_urms_pu"] == pytest.approx(1.0, rel=1e-9)


def test_node_never_fed_has_no_sag():
    case = make_case(machines=[], breakers=[make_breaker(closed=False)])
    node = read_node(level_run([], [0.0], case), "motor_bus")
    assert node["min_urms_pu"] is None and node["sag_duration_s"] is None


def ramp_run(share_at_full, end_hz=50.0):
    """V/f ramp to `end_hz` in 8 s and 2 s there; voltage = share * base * f / 50."""
    case = make_drive_case(target=end_hz)
    t = np.linspace(0.0, 10.0, 10001)
    f = np.minimum(1.5 + (end_hz - 1.5) * t / 8.0, end_hz)
    volts = share_at_full * BASE * f / 50.0
    return make_run(case, make_envelope(case, t, RATED_SPEED * f / 50.0, volts, frequency=f))


def test_behind_a_drive_voltage_is_held_against_the_frequency():
    """V = base f / 50 is no sag at all, also between 45 Hz and 50 Hz; 0.85 of it is one of 15 %."""
    node = read_node(ramp_run(1.0))
    # f moves by at most 0.12 Hz within a cycle at 45 Hz, so the one-cycle mean square is within 0.13 %
    assert node["min_urms_pu"] == pytest.approx(1.0, abs=2e-3)
    assert node["sag_duration_s"] == 0.0
    low = read_node(ramp_run(0.85))
    assert low["sag_depth_pct"] == pytest.approx(15.0, abs=0.2)
    # from 45 Hz, reached at 8 * 43.5 / 48.5 s and one cycle on, to the end
    assert low["sag_duration_s"] == pytest.approx(10.0 - 8.0 * 43.5 / 48.5 - 0.02, abs=0.025)


def test_below_90_percent_of_rated_frequency_sag_is_not_measured():
    node = read_node(ramp_run(1.0, end_hz=40.0))
    assert node["min_urms_pu"] is None
    assert node["max_urms_pu"] == pytest.approx(0.8, rel=1e-6)
