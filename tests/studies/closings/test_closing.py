"""One closing at random against the closed form of its circuit, and against an ordinary run with the same poles."""

import numpy as np
import pytest

from sim.case import parse_case
from sim.engines.run.timeline import simulate
from sim.errors import CaseError, SolveError
from sim.network.tables import CLARKE
from sim.studies.closings.closing import Situation
from sim.studies.closings.draws import Closing, draw_closing
from studies.closing_cases import CREST, FEEDER, RING_HZ, make_case

TURN = 2.0 * np.pi * 50.0
ANGLE = np.deg2rad(25.0)        # of the grid, see `studies.closings`
SHIFTS = -2.0 * np.pi / 3.0 * np.arange(3)
OBSERVE = 0.02


def find_ringing(closing, end):
    """Phase voltages per unit of crest of a bank closed pole by pole, shape (m, 3), closed form.

    L di/dt + v = e cos(w t + a), i = C dv/dt, from rest: v = k (e(t) - decaying oscillation with the same value and
    slope at the moment of closing), k = 1 / (1 - (w / w0)^2).  Every phase is by itself: the grid's zero sequence is
    its positive one.
    """
    ring = 2.0 * np.pi * RING_HZ
    # resistance 1/500 of the reactance at 50 Hz: amplitudes fall by exp(-R t / 2 L)
    decay = 0.5 * TURN / 500.0
    t = np.arange(closing.order + min(closing.delays), end, 1e-6)[:, None]
    moments = closing.order + np.array(closing.delays)
    since = np.maximum(t - moments, 0.0)
    start = TURN * moments + ANGLE + SHIFTS
    free = np.exp(-decay * since) * (np.cos(start) * np.cos(ring * since)
                                     - TURN / ring * np.sin(start) * np.sin(ring * since))
    steady = np.cos(TURN * t + ANGLE + SHIFTS)
    return np.where(t >= moments, (steady - free) / (1.0 - (TURN / ring) ** 2), 0.0)


@pytest.mark.parametrize("number", range(6))
def test_peaks_are_those_of_the_closed_form(number):
    """The contact closes within 2 % of the ring's period, which takes up to 0.5 % off its first crest."""
    case = make_case(shots=f"observe_ms = {1e3 * OBSERVE}")
    situation, closing = Situation(case), draw_closing(case, number)
    earth, between = situation.shoot(closing)[situation.names.index("head")]
    end = closing.order + max(closing.delays) + OBSERVE
    volts = find_ringing(closing, end)
    assert earth / (CREST * 10e3) == pytest.approx(np.abs(volts).max(), rel=6e-3)
    pairs = volts - np.roll(volts, 1, axis=1)
    assert between / (CREST * 10e3) == pytest.approx(np.abs(pairs).max(), rel=6e-3)


def test_the_closed_form_tells_closings_apart():
    """What the tolerance above has to see: poles 1 ms off change the peak by far more."""
    case = make_case()
    closings = [draw_closing(case, number) for number in range(6)]
    others = [closing._replace(delays=closing.delays[::-1]) for closing in closings]
    peaks, moved = ([np.abs(find_ringing(one, one.order + 0.03)).max() for one in series]
                    for series in (closings, others))
    assert np.ptp(peaks) > 0.05 and np.abs(np.subtract(peaks, moved)).max() > 0.02


@pytest.mark.parametrize("number", [0, 4])
def test_a_closing_is_the_ordinary_run_with_its_poles(number):
    """Cable and saturable transformer; sampling of a crest between steps and rounding are all that differ."""
    case = make_case(FEEDER, shots="observe_ms = 15.0")
    situation = Situation(case)
    closing = draw_closing(case, number)
    first = min(closing.delays)
    delays = [situation.whole_steps(delay - first) for delay in closing.delays]
    at = closing.order + first
    alone = make_case(FEEDER, event=at, duration=at + max(delays) + 0.015 + 4e-6,
                      breaker=f"closing_delays_ms = {[1e3 * delay for delay in delays]}")
    result = simulate(alone, engine="waveform")
    for name, (earth, between) in zip(situation.names, situation.shoot(closing)):
        # order-2 steps of 4 us over the lead-in turn the sources by less than 1e-5 against the exact steady state
        assert earth == pytest.approx(result.peaks[name].phase_earth, rel=1e-4), name
        assert between == pytest.approx(result.peaks[name].phase_phase, rel=1e-4), name


def test_every_step_is_a_regular_one():
    """Poles and end are on whole steps, so that no coefficients are made for one step only."""
    situation = Situation(make_case(shots="observe_ms = 1.0"))
    for number in range(3):
        situation.shoot(draw_closing(situation.case, number))
    assert {h for h, _ in situation.engine.cache.full} == {situation.engine.h}
    assert situation.engine.recorder.blocks == []


def test_closings_leave_nothing_to_the_next():
    case = make_case(FEEDER, shots="observe_ms = 2.0")
    situation = Situation(case)
    first = situation.shoot(draw_closing(case, 0))
    situation.shoot(draw_closing(case, 1))
    np.testing.assert_array_equal(situation.shoot(draw_closing(case, 0)), first)


def test_charges_are_on_the_cable_as_drawn():
    case = make_case(FEEDER, shots='trapped_most_pu = 1.0\ntrapped_cables = ["line"]')
    situation = Situation(case)
    state = situation.make_state(0.013, Closing(0, 0.013, (0.0, 0.0, 0.0), ((0.9, -0.4, 0.1),)))
    for node in ("head", "tail"):
        volts = CLARKE.T @ state.x[:, situation.network.node_names.index(node)]
        assert volts == pytest.approx(CREST * 10e3 * np.array([0.9, -0.4, 0.1]), rel=1e-12)
    volts = CLARKE.T @ state.x[:, situation.network.node_names.index("bus")]
    # the bus carries nothing but the grid, stray capacitance aside
    assert volts == pytest.approx(CREST * 10e3 * np.cos(TURN * 0.013 + SHIFTS), rel=1e-6)


def test_charge_given_with_the_cable_stays_unless_drawn():
    body = FEEDER.replace("length_km = 20.0", "length_km = 20.0\ntrapped_pu = [0.5, 0.5, 0.5]")
    state = Situation(make_case(body)).make_state(0.0, Closing(0, 0.0, (0.0, 0.0, 0.0), ()))
    assert (CLARKE.T @ state.x[:, 1]) == pytest.approx(0.5 * CREST * 10e3 * np.ones(3), rel=1e-12)


def test_a_point_on_wave_takes_the_chance_out_of_the_order():
    """Phase a closes at its crest whenever it is ordered: the same poles at the same angles."""
    case = make_case(breaker="scatter_ms = 0.0\nclosing_angle_deg = 90.0", shots="observe_ms = 12.0")
    situation = Situation(case)
    peaks = []
    for number in range(4):
        closing = draw_closing(case, number)
        wait = situation.find_moments(closing)[0] - closing.order
        # the grid stands at +-1 at the moment of closing, at most one period after the order
        assert 0.0 <= wait <= 0.02
        assert np.cos(TURN * (closing.order + wait) + ANGLE) == pytest.approx(1.0, abs=1e-9)
        peaks.append(situation.shoot(closing)[situation.names.index("head"), 0])
    # poles and clock are within half a step of each other: 6e-4 rad of the source
    assert peaks == pytest.approx([peaks[0]] * 4, rel=1e-6)
    ringing = find_ringing(closing._replace(delays=(wait,) * 3), closing.order + wait + 0.012)
    assert peaks[0] / (CREST * 10e3) == pytest.approx(np.abs(ringing).max(), rel=6e-3)


MACHINE = """
[[machine]]
name = "pump"
node = "bus"
[machine.motor]
rated_kw = 2000
rated_kv = 10.0
poles = 4
[machine.shaft]
inertia_kgm2 = 40
[machine.load]
kind = "none"
"""


@pytest.mark.parametrize("settings, words", [
    ({"breaker": "", "body": FEEDER.replace("closed = false", "closed = true")}, "gear: is closed at the start"),
    ({"more": MACHINE}, "pump at standstill on a live grid"),
    ({"body": FEEDER + '[[breaker]]\nname = "main"\nfrom = "bus"\nto = "feed"\nclosed = false\n',
      "body_grid": "feed"}, "no voltage on either side")])
def test_what_cannot_be_closed_is_refused(settings, words):
    body = settings.get("body", FEEDER)
    if "body_grid" in settings:
        body = body.replace('node = "bus"', f'node = "{settings["body_grid"]}"', 1)
    case = make_case(body, more=settings.get("more", ""))
    with pytest.raises(CaseError, match=words):
        Situation(case)


def test_a_live_cable_holds_no_charge():
    body = FEEDER + FEEDER[FEEDER.index("[[cable]]"):FEEDER.index("[[transformer]]")].replace(
        '"line"', '"ring"').replace('"head"', '"bus"').replace('"tail"', '"far"')
    case = make_case(body, shots='trapped_most_pu = 0.5\ntrapped_cables = ["ring"]')
    with pytest.raises(CaseError, match="ring is live before the closings"):
        Situation(case)


def test_a_case_without_the_table_is_refused():
    text = '[study]\nduration_s = 1\n[[grid]]\nname = "g"\nnode = "n"\nrated_kv = 1\nshort_circuit_mva = 1\n'
    with pytest.raises(CaseError, match="shots: missing"):
        Situation(parse_case(f'title = "none"\n{text}'))


def test_a_failure_names_its_closing(monkeypatch):
    situation = Situation(make_case())

    def fail(state, t, t_end, progress=None):
        raise SolveError("head", 1e-3, "voltages left the number range")

    monkeypatch.setattr(situation.engine, "advance", fail)
    with pytest.raises(SolveError, match="closing 7, head at t = 0.0"):
        situation.shoot(draw_closing(situation.case, 7))
