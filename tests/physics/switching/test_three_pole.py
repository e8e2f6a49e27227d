"""Poles of a breaker one by one: unlike closing and opening times, point on wave, closing resistors, chopping, and a
line that is energised phase by phase.

A pole closes by a sweep of its resistance over 48 steps; an inductance answers to it some 10 steps ahead of the
order.  Tolerances say what that makes.
"""

import numpy as np
import pytest
from energy_books import lost_share
from engines.circuits import (
    CREST,
    breaker,
    build,
    cable,
    event,
    grid,
    list_moments,
    make_case,
    make_constant,
    make_ideal,
    node,
    phases,
    run_waveform,
    shunt,
)
from reference import switching, three_phase, three_pole, three_pole_line
from scipy.optimize import brentq

from sim.engines.run.timeline import simulate
from sim.engines.waveform.engine import WaveformEngine
from sim.engines.waveform.gear import closing_advance

W = 100.0 * np.pi
VOLTS = CREST * 1e4
NONE = np.zeros((3, 3))
MVA = 500.0
SUPPLY = 100.0 / MVA * (1.0 + 10j) / np.hypot(1.0, 10.0)
CLOSE, OPEN = 0.0151, 0.0603
DELAYS = {"closing_delays_ms": [0.0, 6.7, 3.2], "opening_delays_ms": [1.0, 0.0, 4.0]}
ORDERS = [(CLOSE + 1e-3 * delay, phase, "close") for phase, delay in enumerate(DELAYS["closing_delays_ms"])]
ORDERS += [(OPEN + 1e-3 * delay, phase, "open") for phase, delay in enumerate(DELAYS["opening_delays_ms"])]
SOURCE = three_pole.Source(VOLTS, 50.0)


def run(*parts, lost=1.2e-7, **study):
    result = simulate(make_case(*parts, **study), "waveform")
    assert lost_share(result) < lost
    return result


def load(step_us, earthed, ratio):
    """2 ohm and 20 mH a phase behind a supply whose zero sequence is `ratio` times the positive one."""
    return run(grid(mva=MVA, x0_over_x1=ratio), breaker(closed=False, **DELAYS), node("head", stray_nf=0.01),
               shunt("head", connection="series", resistance_ohm=2.0, inductance_mh=20.0, earthed=earthed),
               event(CLOSE, "close"), event(OPEN, "open"), duration=0.08, waveform_step_us=step_us)


def star(earthed, ratio):
    matrices = [three_phase.phase_matrix(ratio * part + own, part + own).real
                for part, own in ((SUPPLY.real, 2.0), (SUPPLY.imag / W, 20e-3))]
    return three_pole.Star(*matrices, NONE, earthed)


@pytest.mark.parametrize("earthed, ratio", [(True, 1.0), (True, 3.0), (False, 1.0)])
def test_poles_close_and_open_one_by_one(earthed, ratio):
    """Currents until the first opening: 10 us ahead of the order are (w 10 us) = 0.3 % of the crest.

    Openings at current zeros, which a pole closed 10 us early moves by less than a microsecond; the isolated star's
    second zero by 0.1 us, by the stray capacitance of its open node.
    """
    result = load(1.0, earthed, ratio)
    t, i = phases(result, "gear", "current")
    expected = three_pole.respond(star(earthed, ratio), SOURCE, ORDERS, t)
    size = np.abs(expected.current).max()
    assert np.abs(i - expected.current)[t < OPEN].max() < 3e-3 * size
    opened = {phase: at for at, phase in list_moments(result, "pole_open")}
    assert opened == pytest.approx(expected.opened, abs=5e-7)
    assert {phase: at for at, phase in list_moments(result, "pole_close")} == pytest.approx(
        {phase: at for at, phase, what in ORDERS if what == "close"}, abs=1e-9)
    # within 20 us of an opening samples lie on either side of it; the slope there is 60 A in 20 us at the most
    away = np.abs(t[:, None] - np.array([*opened.values()])).min(axis=1) > 2e-5
    assert np.abs(i - expected.current)[(t > OPEN) & away].max() < 3e-3 * size


def test_open_pole_of_an_isolated_star_sees_half_the_third_voltage():
    """Two poles closed, the third open: its terminal stands at the star point, halfway between the other two.

    The strays of the open terminal, 10 pF against 20 mH, ring at 350 kHz and are damped by the step: 1 % after 1 ms.
    """
    result = load(1.0, False, 1.0)
    t, v = phases(result, "head")
    expected = three_pole.respond(star(False, 1.0), SOURCE, ORDERS, t).voltage
    between = (t > ORDERS[2][0] + 1e-3) & (t < ORDERS[1][0] - 1e-4)
    assert expected[between, 1] == pytest.approx(-0.5 * three_pole.emfs(SOURCE, t)[between, 1], rel=0.02)
    assert np.abs(v - expected)[between, 1].max() < 0.01 * VOLTS


def test_records_of_the_openings():
    result = load(1.0, True, 1.0)
    records = {"abc".index(one.pole): one for one in result.interruptions}
    _, across = phases(result, "bus")
    across = across - phases(result, "head")[1]
    for at, phase in list_moments(result, "pole_open"):
        one = records[phase]
        assert (one.switch, one.ordered, one.opened) == ("gear", pytest.approx(OPEN, abs=1e-9), at)
        assert one.separated == pytest.approx(OPEN + 1e-3 * DELAYS["opening_delays_ms"][phase], abs=1e-9)
        assert one.recovery_peak >= np.abs(across[phases(result, "bus")[0] > at + 2e-5, phase]).max() * (1.0 - 1e-9)
        assert one.chopped < 1e-3 * 600.0 and one.reignitions == 0


@pytest.mark.parametrize("angle", [0.0, 90.0, 200.0])
def test_point_on_wave(angle):
    """Pole a closes where the voltage of its node has turned by the angle from its rising zero, b and c with it.

    Phase a is a cosine: rising zeros at 15 ms and each 20 ms later; the supply is stiff.  One step of 2 us.
    """
    result = run(grid(mva=MVA, phase_deg=0.0), breaker(closed=False, closing_angle_deg=angle),
                 shunt("head", connection="series", resistance_ohm=0.5, inductance_mh=20.0), event(0.0162, "close"),
                 duration=0.06, waveform_step_us=2.0)
    (first, _), *_ = closed = list_moments(result, "pole_close")
    apart = (np.degrees(W * (first - 0.015)) - angle + 180.0) % 360.0 - 180.0
    assert abs(apart) < np.degrees(W * 2e-6) and 0.0162 <= first < 0.0363
    assert [at for at, _ in closed] == pytest.approx([first] * 3)
    t, i = phases(result, "gear", "current")
    r, l = 0.5 + SUPPLY.real, 20e-3 + SUPPLY.imag / W
    exact = switching.rl_energisation(np.maximum(t - first, 0.0), VOLTS, r, l, 50.0, np.radians(angle))
    assert np.abs(i[:, 0] - exact)[t > first + 1e-4].max() < 8e-3 * np.abs(exact).max()     # 20 us ahead: 0.6 %


def test_closing_resistor_carries_alone_until_it_is_bypassed():
    """8 ms behind 30 ohm, then without: two exact pieces joined by the current at the bypass."""
    ohm, stay, at = 30.0, 8e-3, 0.0167
    result = run(grid(mva=MVA), breaker(closed=False, insertion_ohm=ohm, insertion_ms=1e3 * stay),
                 shunt("head", connection="series", resistance_ohm=0.5, inductance_mh=20.0), event(at, "close"),
                 duration=0.06, waveform_step_us=1.0)
    t, i = phases(result, "gear", "current")
    r, l = 0.5 + SUPPLY.real, 20e-3 + SUPPLY.imag / W
    for phase in range(3):
        angle = W * at + three_pole.TURNS[phase] + 0.5 * np.pi
        inserted = switching.rl_energisation(np.maximum(t - at, 0.0), VOLTS, r + ohm, l, 50.0, angle)
        at_bypass = switching.rl_energisation(stay, VOLTS, r + ohm, l, 50.0, angle)
        forced = VOLTS / (r + 1j * W * l) * np.exp(1j * (W * (t - at) + angle))
        start = np.imag(VOLTS / (r + 1j * W * l) * np.exp(1j * (W * stay + angle)))
        alone = np.imag(forced) + (at_bypass - start) * np.exp(-r * (t - at - stay) / l)
        exact = np.where(t < at + stay, inserted, alone)
        # 10 us ahead at closing: 0.3 %; the bypass sweeps from 30 ohm down, its half way some 20 us off: 0.6 %
        assert np.abs(i[:, phase] - exact)[t > at + 1e-4].max() < 8e-3 * np.abs(exact).max()


def test_chopped_current_swings_into_the_capacitance():
    """5 A of a pole cut off: the current of 2 H swings into 50 nF and a resistance, phase by phase.

    Ordered at the crest of one phase's current of 13 A, when the other two still carry more than half of it.
    """
    henry, farad, ohm, chop = 2.0, 50e-9, 50e3, 5.0
    result = run(grid(mva=5000.0), breaker(chopping_a=chop), node("head", stray_nf=50.0),
                 shunt("head", inductance_mh=1e3 * henry, name="coil"), shunt("head", resistance_ohm=ohm, name="loss"),
                 event(0.025, "open"), duration=0.05, waveform_step_us=1.0, lost=2.5e-5)
    t, v = phases(result, "head")
    assert len(list_moments(result, "pole_open")) == 3
    for at, phase in list_moments(result, "pole_open"):
        one = next(o for o in result.interruptions if o.pole == "abc"[phase])
        assert one.chopped == pytest.approx(chop, rel=2e-3)         # located within 1e-4 of a step's change and more
        emf = three_pole.emfs(SOURCE, at)[phase]
        coil = np.real(VOLTS / (1j * W * henry) * np.exp(1j * (W * at + three_pole.TURNS[phase])))
        after = (t > at) & (t < at + 0.015)
        exact = switching.damped_chop(t[after] - at, coil, henry, farad, ohm, emf)
        assert np.abs(v[after, phase] - exact).max() < 0.01 * np.abs(exact).max()


def test_strengthening_gap_re_ignites_until_it_holds():
    """Contacts that part 0.2 ms before a current zero: a gap that gains 20 kV/ms breaks down where the recovery voltage
    crosses its strength, one that gains 500 kV/ms holds.

    After the zero the coil's side swings at 6.5 kHz about nothing, the supply's side at 2.2 kHz about its emf, which
    stands still meanwhile; both start from the share of the emf that the coil had.  Two steps of 1 us.  The strike
    joins both capacitances within a dozen fine steps: 1.8e-7 of the energy is lost to them.
    """
    coil, near, far = 30e-3, 800e-9, 20e-9

    def open_on(rise):
        return run(grid(mva=50.0), node("bus", stray_nf=1e9 * near), breaker(recovery_rise_kv_per_ms=rise),
                   shunt("head", inductance_mh=1e3 * coil, name="coil"), node("head", stray_nf=1e9 * far),
                   event(0.0298, "open"), duration=0.05, waveform_step_us=1.0, lost=4e-7)

    weak, strong = open_on(20.0), open_on(500.0)
    assert sum(one.reignitions for one in strong.interruptions) == 0
    (struck, phase), = list_moments(weak, "reignition")
    one = next(o for o in weak.interruptions if o.pole == "abc"[phase])
    zero = next(at for at, pole in list_moments(weak, "pole_open") if pole == phase)
    source = 100.0 / 50.0 / W * np.hypot(1.0, 0.1) ** -1
    share = coil / (coil + source)
    swings = 1.0 / np.sqrt(np.array([source * near, coil * far]))

    def margin(since):
        across = 1.0 - (1.0 - share) * np.cos(swings[0] * since) - share * np.cos(swings[1] * since)
        return VOLTS * across - 20e6 * (zero + since - one.separated)

    assert struck - zero == pytest.approx(brentq(margin, 1e-6, 6e-5), abs=2e-6)
    assert one.reignitions == 1 and one.opened == pytest.approx(zero + 0.01, abs=5e-5)      # holds at its next zero


def line_run(delays):
    """A line of unlike sequences closed pole by pole on to a direct voltage."""
    step = 1.0 / (50.0 * 5e3)
    _, network = build(grid(mva=1e5), breaker(closed=False), node("head", stray_nf=0.01), node("tail", stray_nf=0.01),
                       cable(km=60.0, resistance_ohm_per_km=1e-6, zero_resistance_ohm_per_km=1e-6,
                             zero_inductance_mh_per_km=1.23), bandwidth_khz=5.0)
    make_ideal(network)
    make_constant(network, 1000.0)
    engine = WaveformEngine(network, step)
    state = run_waveform(network, step, step, engine=engine).state
    advance = closing_advance(step)
    engine.close(state, 0, 0.0, delays)
    return network, run_waveform(network, 3.0e-3, step, state=state, engine=engine, t=step), advance


def test_line_energised_pole_by_pole():
    """60 km without losses, zero sequence sqrt(3) slower: far-end voltages integrated over time, which fronts of
    a third of a period of 5 kHz hardly touch: 1 % of the source over 3 ms."""
    delays = (0.0, 0.55e-3, 1.3e-3)
    network, found, advance = line_run(delays)
    travel = 60.0 * np.sqrt(0.41e-3 * 0.18e-6)
    unit = travel / 400
    surge = np.sqrt(np.array([1.23e-3, 0.41e-3]) / 0.18e-6)
    waves = three_pole_line.Waves(surge[0], round(np.sqrt(3.0) * 400), surge[1], 400)
    emf = 1000.0 * np.array([1.0, -0.5, -0.5])
    ends = three_pole_line.energise(waves, unit, int(3e-3 / unit), lambda t: emf, np.array(delays) + advance)
    exact = np.cumsum(ends.far, axis=0) * unit
    far = found.v[:, network.node_names.index("tail")]
    area = np.cumsum(0.5 * (far[1:] + far[:-1]) * np.diff(found.t)[:, None], axis=0)
    late = ends.t[ends.t < found.t[-1]]
    got = np.stack([np.interp(late, found.t[1:], area[:, k]) for k in range(3)], axis=1)
    assert np.abs(got - exact[:len(late)]).max() < 0.01 * 1000.0 * 3e-3
    assert np.abs(ends.far).max() > 2500.0              # poles closed at bad times: beyond twice the source
