"""How the frequency moves: closed forms of the S-curve, the landing and the stretches."""

import numpy as np
import pytest

from sim.kernels import columns as c
from sim.kernels.control import ramp

from .test_drive import make_drive, make_state

pytestmark = pytest.mark.usefixtures("plain_python")


def move(data, target, duration, step, hz=2.0, rate=0.0):
    """Frequencies at the ends of backward Euler steps."""
    x = make_state(hz, 1.0)
    x[c.X_RATE] = rate
    found = []
    for _ in range(round(duration / step)):
        e = x.copy()
        ramp.move_frequency(step, e, x, 0.0, target, data)
        found.append(x[c.X_HZ])
    return step * np.arange(1, len(found) + 1), np.array(found)


def s_curve(t, start, end, slope, jerk):
    """Frequency between two rests: parabola, straight line, parabola (kinematics at constant jerk)."""
    rise = slope / jerk
    whole = (end - start) / slope + rise
    t = np.minimum(t, whole)
    return np.where(t < rise, start + 0.5 * jerk * t**2, np.where(
        t < whole - rise, start + slope * (t - 0.5 * rise), end - 0.5 * jerk * (whole - t) ** 2))


def test_smoothed_ramp_is_the_s_curve_of_its_jerk():
    """4 Hz/s built up at 4 Hz/s2, from 2 to 20 Hz; the error of the Euler steps is of their order, and the landing's
    last 50 ms close exponentially: 2 steps of slope, and jerk times 50 ms squared."""
    data = make_drive(DRIVE_HOLD=0.0, DRIVE_JERK=4.0)
    t, hz = move(data, 20.0, 6.0, 1e-3)
    assert np.abs(hz - s_curve(t, 2.0, 20.0, 4.0, 4.0)).max() < 2.0 * 4.0 * 1e-3 + 4.0 * ramp.LANDING**2
    assert (np.diff(hz) >= 0.0).all() and hz[-1] == pytest.approx(20.0, abs=2e-3)


@pytest.mark.parametrize("target", [20.0, 2.0])
def test_landing_closes_exponentially(target):
    """Within slope times LANDING of its target the frequency obeys df/dt = (target - f)/LANDING."""
    data, gap = make_drive(DRIVE_HOLD=0.0), 0.15
    start = target - gap if target > 10.0 else target + gap
    t, hz = move(data, target, 0.2, 1e-5, hz=start)
    assert hz - target == pytest.approx((start - target) * np.exp(-t / ramp.LANDING), abs=2e-4 * gap)


def test_a_step_longer_than_the_landing_does_not_overshoot():
    for step in (0.01, 0.3, 10.0):
        _, hz = move(make_drive(DRIVE_HOLD=0.0), 5.0, 20.0, step)
        assert hz.max() <= 5.0 and (np.diff(hz) >= 0.0).all()


def test_present_slope_is_the_derivative_of_the_frequency():
    data = make_drive(DRIVE_HOLD=0.0)
    data[c.DRIVE_STRETCH:c.DRIVE_STRETCH + 2] = 10.0, 1.5
    for hz, slope in ((5.0, 1.5), (12.0, 4.0), (19.9, 0.1 / ramp.LANDING), (25.0, -4.0)):
        x = make_state(hz, 1.0)
        assert ramp.ramp_rate(x, 20.0, data) == pytest.approx(slope)
        later = x.copy()
        ramp.move_frequency(1e-7, x, later, 0.0, 20.0, data)
        assert (later[c.X_HZ] - hz) / 1e-7 == pytest.approx(slope, rel=1e-4)


@pytest.mark.parametrize("current, bends, share", [
    (100.0, True, 1.0), (190.0, True, 1.0), (195.0, True, 0.5), (200.0, True, 0.0), (205.0, True, -0.5),
    (300.0, True, -1.0), (205.0, False, 0.0)])
def test_limit_leaves_a_share_of_the_slope(current, bends, share):
    assert ramp.ramp_share(current, 200.0, bends) == pytest.approx(share)


def test_nothing_moves_while_the_drive_holds_its_start_frequency():
    data = make_drive(DRIVE_HOLD=2.0)
    _, hz = move(data, 20.0, 0.5, 0.01)
    assert (hz == 2.0).all() and ramp.ramp_rate(make_state(2.0, 1.0), 20.0, data) == 0.0
