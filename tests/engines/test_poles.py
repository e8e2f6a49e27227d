"""Breaker poles: opening at current zero one by one, closing on time, and what stays behind.

Recovery voltages: A. Greenwood, *Electrical Transients in Power Systems*, chapter on capacitive interruption
(2.0 pu with an earthed neutral; 2.5 pu for the first pole with an isolated one), from memory, to be checked.
"""

import numpy as np
import pytest

from engines.circuits import CREST, breaker, cable, event, grid, level, make_case, node, phases, shunt
from sim.engines.run.timeline import simulate
from sim.engines.waveform.gear import CLOSING_STEPS

ORDER = 0.0202          # away from any current zero of the cases below [s]
SAMPLE = 2e-5           # stored every 20 us by default
VOLTS = CREST * 1e4     # phase crest of the 10 kV supply
LOAD = shunt("head", resistance_ohm=50.0)
COIL = {"inductance_mh": 200.0, "name": "coil"}


def openings(result, name="gear"):
    """(time, phase 0 to 2) of each pole that opened, in time."""
    return [(m.t, "abc".index(m.label.split()[2])) for m in result.events if m.what == "pole_open" and m.where == name]


def run_opening(*parts, mva=300.0, duration=0.04, order=ORDER):
    case = make_case(grid(mva=mva), breaker(), *parts, event(order, "open"), duration=duration)
    return simulate(case, "waveform")


def test_earthed_load_opens_a_third_of_a_half_cycle_apart():
    """Phases are independent: zeros of their currents follow each other 60 degrees (3.33 ms) apart."""
    times = [t for t, _ in openings(run_opening(shunt("head", **COIL), LOAD))]
    assert len(times) == 3 and times[0] > ORDER
    assert np.diff(times) == pytest.approx(0.01 / 3.0, abs=1e-6)    # a quarter of a step


def test_isolated_load_opens_two_poles_together():
    """After the first pole the other two carry one current, at right angles to the first: 5 ms later.

    The stray capacitance at the isolated node and the offset left by the first opening move the zero by some
    microseconds.
    """
    result = run_opening(shunt("head", **COIL, earthed=False), node("head", stray_nf=0.01))
    (first, _), (second, _), (third, _) = openings(result)
    assert second - first == pytest.approx(5e-3, abs=2e-5)
    assert third - second == pytest.approx(0.0, abs=2e-5)


@pytest.mark.parametrize("earthed", [True, False])
def test_each_pole_opens_at_its_own_current_zero(earthed):
    """Up to its opening a pole carries a current that tends to zero as a straight line; afterwards none."""
    result = run_opening(shunt("head", **COIL, earthed=earthed), LOAD)
    t, i = phases(result, "gear", "current")
    crest = np.abs(i[t < ORDER]).max()
    for at, phase in openings(result):
        before, after = t < at - 1e-9, t > at + 1e-9
        t_last, i_last = t[before][-2:], i[before, phase][-2:]
        slope = np.diff(i_last)[0] / np.diff(t_last)[0]
        left = i_last[-1] + slope * (at - t_last[-1])
        assert abs(left) < 1e-3 * crest         # of a sine, so close to its zero: (w 40 us)^2 of its slope
        assert np.abs(np.diff(i[before, phase])).max() < 1.05 * crest * 314.2 * SAMPLE
        assert not i[after, phase].any()


def test_poles_wait_for_the_order():
    result = run_opening(LOAD)
    t, i = phases(result, "gear", "current")
    assert (np.abs(i[t < ORDER]).sum(axis=1) > 0.0).all()
    assert all(ORDER <= at <= ORDER + 0.01 for at, _ in openings(result))


def test_order_of_poles_follows_the_phase_of_the_order():
    """An order 60 degrees later finds the next pole first."""
    first = [openings(run_opening(LOAD, order=ORDER + k * 0.01 / 3.0))[0][1] for k in range(4)]
    assert sorted(first[:3]) == [0, 1, 2]
    assert first[3] == first[0]
    assert [(a - b) % 3 for a, b in zip(first, first[1:])] == [1, 1, 1]     # c before b before a: -120 degrees


def test_dead_breaker_opens_at_once():
    case = make_case(grid(), breaker(closed=False), breaker("head", "tail", name="dead"),
                     shunt("tail", resistance_ohm=30.0), event(ORDER, "open", "dead"), duration=0.03)
    assert [t for t, _ in openings(simulate(case, "waveform"), "dead")] == pytest.approx([ORDER] * 3, abs=1e-9)


def test_closing_is_on_time_within_its_front():
    """The current of a resistor starts within the sweep around the order and is whole at its end."""
    case = make_case(grid(), breaker(closed=False), LOAD, event(ORDER, "close"), duration=0.03)
    result = simulate(case, "waveform")
    t, v = phases(result, "head")
    _, source = phases(result, "bus")
    front = CLOSING_STEPS * result.settings["waveform_step_s"]
    assert np.abs(v[t < ORDER - front]).max() < 1e-6 * VOLTS
    assert np.abs((v - source)[t > ORDER + front]).max() < 1e-4 * VOLTS
    share = np.linalg.norm(v, axis=1) / np.linalg.norm(source, axis=1)
    assert np.interp(0.5, share[t < ORDER + front], t[t < ORDER + front]) == pytest.approx(ORDER, abs=SAMPLE)


def test_trapped_charge_stays():
    """An open cable without leakage keeps the charge of the moment for good (0.4 s here); sum not zero."""
    result = run_opening(cable(), mva=3000.0, duration=0.45)
    assert len(openings(result)) == 3
    t, v = phases(result, "tail")
    early, late = level(t, v, 0.06, 0.08), level(t, v, 0.42, 0.45)
    assert np.abs(np.abs(late) / VOLTS - 1.0).max() < 0.01          # opened at the crest: Ferranti and supply drop
    assert late == pytest.approx(early, rel=1e-4)
    assert np.ptp(v[t > 0.42], axis=0).max() < 1e-6 * VOLTS


def test_leakage_drains_trapped_charge():
    """Time constant C'/G'."""
    conductance_us, capacitance_uf = 1.0, 0.18
    result = run_opening(cable(conductance_us_per_km=conductance_us), mva=3000.0, duration=0.45)
    t, v = phases(result, "tail")
    ratio = np.interp(0.4, t, v[:, 0]) / np.interp(0.1, t, v[:, 0])
    assert ratio == pytest.approx(np.exp(-0.3 * conductance_us / capacitance_uf), rel=1e-3)


@pytest.mark.parametrize("earthed, recovery", [(True, 2.0), (False, 2.5)])
def test_capacitive_interruption_recovers_half_a_cycle_later(earthed, recovery):
    """Supply of 30 GVA: the drop over it (0.05 %) and the strays are what is left."""
    result = run_opening(shunt("head", capacitance_uf=5.0, earthed=earthed), mva=3e4, duration=0.05)
    t, v = phases(result, "head")
    _, source = phases(result, "bus")
    across = (source - v) / VOLTS
    at, first = openings(result)[0]
    assert abs(np.interp(at, t, across[:, first])) < 1e-3
    assert abs(np.interp(at + 0.01, t, across[:, first])) == pytest.approx(recovery, rel=1e-3)
    assert np.abs(across[:, first]).max() == pytest.approx(recovery, rel=1e-3)


def test_reclosing_on_opposite_charge_gives_three():
    """-1 pu trapped on the line, source at +1 pu: the front of 2 pu doubles at the open end, 3 pu to earth.

    Zero sequence as the positive one, so that the phases do not meet; x0 = x1 in the supply too.
    """
    parts = [grid(mva=1e5), breaker(), event(ORDER, "open"),
             cable(km=120.0, resistance_ohm_per_km=0.01, zero_resistance_ohm_per_km=0.01,
                   zero_inductance_mh_per_km=0.41)]
    at, phase = openings(simulate(make_case(*parts, duration=0.05), "waveform"))[0]
    again = at + 0.09       # four and a half cycles: the source stands opposite
    result = simulate(make_case(*parts, event(again, "close"), duration=again + 2.5e-3), "waveform")
    t, v = phases(result, "tail")
    trapped = abs(level(t, v, again - 0.02, again - 0.001)[phase])
    decay = np.exp(-0.01 * 120.0 / (2.0 * np.sqrt(0.41e-3 / 0.18e-6)))      # exp(-R l / 2 Zc), 1.2 %
    rise = 2.0 * (VOLTS + trapped) * decay - trapped
    # the trapped charge rings by half the Ferranti rise
    assert np.abs(v[:, phase]).max() == pytest.approx(rise, rel=0.01)
    assert trapped == pytest.approx(VOLTS, rel=0.05)                        # Ferranti rise 2.6 %
    assert rise / VOLTS == pytest.approx(3.0, rel=0.03)


def test_closing_a_closed_breaker_does_nothing():
    """As the warning of the case layer says."""
    parts = [grid(mva=300.0), breaker(), cable(), shunt("tail", resistance_ohm=100.0)]
    plain = simulate(make_case(*parts, duration=0.04), "waveform")
    ordered = simulate(make_case(*parts, event(0.02, "close"), duration=0.04), "waveform")
    times = np.linspace(0.021, 0.039, 50)
    (t_plain, v_plain), (t_ordered, v_ordered) = phases(plain, "tail"), phases(ordered, "tail")
    for phase in range(3):
        expected = np.interp(times, t_plain, v_plain[:, phase])
        assert np.interp(times, t_ordered, v_ordered[:, phase]) == pytest.approx(expected, abs=1e-4 * VOLTS)


def test_close_order_overrides_an_open_order():
    """Ordered to close before its first current zero, a breaker stays closed."""
    case = make_case(grid(mva=300.0), breaker(), LOAD, event(0.0202, "open"), event(0.0204, "close"), duration=0.06)
    result = simulate(case, "waveform")
    late = openings(result)
    t, i = phases(result, "gear", "current")
    assert np.abs(i[t > 0.04]).max() == pytest.approx(VOLTS / 50.0, rel=0.05), f"poles opened at {late}"


def test_front_survives_an_opening_elsewhere():
    """A dead breaker that opens while another closes leaves the closing front as it is."""
    parts = [grid(mva=300.0), breaker(closed=False), LOAD, breaker("spare", "end", name="dead"),
             breaker("bus", "spare", name="feeder", closed=False), shunt("end", name="other", resistance_ohm=30.0),
             event(ORDER, "close")]
    times = ORDER + np.linspace(-8e-5, 8e-5, 9)
    fronts = []
    for more in ([], [event(ORDER, "open", "dead")]):
        t, v = phases(simulate(make_case(*parts, *more, duration=0.03), "waveform"), "head")
        fronts.append(np.interp(times, t, v[:, 0]))
    assert fronts[1] == pytest.approx(fronts[0], abs=0.05 * VOLTS)      # samples of the front are 20 us apart
