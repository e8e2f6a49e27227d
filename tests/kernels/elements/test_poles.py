"""Poles: zeros of sines, what a gap can quench, recovery, and faults that meet in a star point."""

from types import SimpleNamespace

import numpy as np
import pytest

from sim.kernels.elements import poles
from sim.network.tables import CLARKE

pytestmark = pytest.mark.usefixtures("plain_python")

W, AMPS, G = 100.0 * np.pi, 500.0, 1e4
TURNS = np.array([0.0, -2.0, 2.0]) * np.pi / 3.0


def make_switches(star=-1.0, race=(0.0, 0.0, np.inf, np.inf)):
    return SimpleNamespace(start=np.array([0]), end=np.array([1 if star < 0.0 else -1]), g=np.array([G]),
                           star=np.array([star]), race=np.array([race], dtype=float))


def make_x(phases, other=(0.0, 0.0, 0.0)):
    """State of two nodes with these phase voltages. [V]"""
    return CLARKE @ np.array([phases, other], dtype=float).T


def currents(t, angle=0.0):
    return AMPS * np.sin(W * t + angle + TURNS)


def find(t, h, race=(0.0, 0.0, np.inf, np.inf), chop=0.0, waits=(1, 1, 1), angle=0.0):
    old, new = (make_x(currents(at, angle) / G) for at in (t, t + h))
    return poles.find_zero(make_switches(race=race), np.full((1, 3), G), CLARKE, np.array([waits]), np.array([chop]),
                           old, new, h)


@pytest.mark.parametrize("h", [1e-6, 1e-5, 1e-4])
@pytest.mark.parametrize("phase", [0, 1, 2])
def test_zero_of_a_sine(h, phase):
    """A straight line through two points of a sine around its zero misses it by (w h)^2/8 of the step at most."""
    share = 0.3
    q, found, where = find(-TURNS[phase] / W - share * h, h)
    assert (q, found) == (0, phase)
    assert where == pytest.approx(share, abs=(W * h) ** 2 / 8.0 + 1e-9)


def test_a_pole_that_does_not_wait_passes_its_zero():
    assert find(-0.3e-5, 1e-5, waits=(0, 1, 1))[0] == -1


def test_the_first_of_two_zeros_in_a_step_counts():
    """A step of a sixth of a cycle holds zeros of two phases 60 degrees apart."""
    h = 0.0034
    q, phase, share = find(-0.00005, h)
    assert (q, phase) == (0, 0) and share < 0.1


@pytest.mark.parametrize("chop", [2.0, 10.0])
def test_chopping_comes_ahead_of_the_zero_by_the_level_over_the_slope(chop):
    h = 1e-4
    t = -0.9 * h
    _, _, share = find(t, h, chop=chop)
    assert share * h == pytest.approx(0.9 * h - np.arcsin(chop / AMPS) / W, abs=1e-3 * h)


@pytest.mark.parametrize("h", [1e-7, 1e-6, 2e-5])
def test_a_gap_quenches_by_the_slope_in_time_not_by_the_step(h):
    """The zero of a sine is as steep as w times its crest, whatever the step over which it is seen."""
    slope = W * AMPS
    for quench, opens in ((1.01 * slope, True), (0.99 * slope, False)):
        q, *_ = find(-0.4 * h, h, race=(0.0, 1e6, np.inf, quench))
        assert (q == 0) == opens
    assert find(-0.4 * h, h, race=(0.0, 0.0, np.inf, 0.99 * slope))[0] == 0       # no race, no limit


def test_a_gap_breaks_down_where_the_recovery_voltage_crosses_its_strength():
    """Strength 2 kV and 10 kV/ms up to 50 kV from the parting of the contacts."""
    switches, separated = make_switches(race=(2e3, 1e7, 5e4, 1e9)), np.full((1, 3), np.nan)
    separated[0, 1] = 1e-3
    for since, strength in ((0.0, 2e3), (1e-3, 1.2e4), (0.1, 5e4)):
        recovery = np.zeros((1, 3, 2))
        for share, weak in ((0.999, (-1, -1)), (1.001, (0, 1))):
            x = make_x((1e6, share * strength, -1e6))           # the other two poles are not watched
            assert poles.follow_recovery(switches, np.zeros((1, 3)), CLARKE, separated, x, 1e-3 + since,
                                         recovery) == weak
        assert recovery[0, 1] == pytest.approx([1.001 * strength, 1e-3 + since])
        assert not recovery[0, [0, 2]].any()


def test_voltage_and_current_of_a_pole():
    """Phase quantities of both nodes, by the conductance."""
    x, switches = make_x((10.0, -4.0, 1.0), (7.0, 2.0, -1.0)), make_switches()
    g = np.array([[G, 0.0, 2.0 * G]])
    assert [poles.pole_voltage(switches, g, CLARKE, x, 0, k) for k in range(3)] == pytest.approx([3.0, -6.0, 2.0])
    assert [poles.pole_current(switches, g, CLARKE, x, 0, k) for k in range(3)] == pytest.approx(
        [3.0 * G, 0.0, 4.0 * G])
    assert poles.pole_loss(switches, g, CLARKE, x) == pytest.approx(9.0 * G + 4.0 * 2.0 * G)


@pytest.mark.parametrize("earth", [0.0, 0.2, np.inf])
def test_poles_of_a_fault_meet_in_a_star_point(earth):
    """Millman's theorem: the star stands at sum(g v)/(sum g + earth), and currents add up to what goes to earth."""
    volts, g = np.array([100.0, -30.0, 45.0]), np.array([[1.0, 0.5, 2.0]])
    switches, x = make_switches(star=earth), make_x(volts)
    star = g[0] @ volts / (g.sum() + earth)
    assert poles.star_voltage(switches, g, CLARKE, x, 0) == pytest.approx(star)
    amps = [poles.pole_current(switches, g, CLARKE, x, 0, k) for k in range(3)]
    assert amps == pytest.approx(g[0] * (volts - star))
    into_earth = 0.0 if np.isinf(earth) else earth * star**2
    assert poles.pole_loss(switches, g, CLARKE, x) == pytest.approx(g[0] @ (volts - star) ** 2 + into_earth)
    if np.isfinite(earth):
        assert sum(amps) == pytest.approx(earth * star, abs=1e-10)
