"""The arrester's reference against straight lines, a linear circuit and an ideal clamp in closed form."""

import numpy as np
import pytest

from . import clamp

CURVE = clamp.Curve(np.array([10e3, 20e3, 22e3, 25e3]), np.array([0.0, 1.0, 100.0, 1e4]))


def test_current_follows_the_points_and_the_last_slope():
    assert clamp.clamp_current(CURVE, CURVE.volts) == pytest.approx(CURVE.amps)
    assert clamp.clamp_current(CURVE, 15e3) == pytest.approx(0.5)
    assert clamp.clamp_current(CURVE, -21e3) == pytest.approx(-50.5)
    assert clamp.clamp_current(CURVE, 28e3) == pytest.approx(1e4 + 9900.0)
    assert clamp.clamp_current(CURVE, 9e3) == 0.0


@pytest.mark.parametrize("emf", [5e3, -12e3, 21.5e3, 24e3, 40e3, -4e6])
@pytest.mark.parametrize("resistance", [0.1, 40.0, 3e3])
def test_voltage_is_where_the_load_line_meets_its_chord(emf, resistance):
    """On a chord u = u0 + r i the crossing is u0 + r (E - u0)/(R + r): one of the chords holds its own crossing."""
    size, found = abs(emf), []
    ends = [*CURVE.volts[1:-1], np.inf]
    r = np.diff(CURVE.volts) / np.diff(CURVE.amps)
    for low, high, slope, current in zip(CURVE.volts, ends, r, CURVE.amps):
        foot = low - slope * current
        u = foot + slope * (size - foot) / (resistance + slope)
        if low <= u < high:
            found.append(u)
    found = found or [size]             # below the first point: no current
    assert len(found) == 1
    assert clamp.clamp_voltage(CURVE, emf, resistance) == pytest.approx(np.sign(emf) * found[0], rel=1e-12)


def test_surge_with_a_straight_characteristic_is_a_linear_circuit():
    """A resistor of 500 ohm behind 2 ohm, 1 mH beside 1 uF: step response by its two roots."""
    r, l, c, g, e = 2.0, 1e-3, 1e-6, 1.0 / 500.0, 10e3
    line = clamp.Curve(np.array([0.0, 1e3]), np.array([0.0, 1e3 * g]))
    t = np.linspace(0.0, 1e-3, 201)
    run = clamp.surge(line, lambda time: e, r, l, c, t)
    roots = np.roots([l * c, r * c + l * g, 1.0 + r * g])
    final = e / (1.0 + r * g)
    s = roots[0]
    weight = roots[1] / (roots[1] - s)                   # v and its rate are zero at the start
    exact = final * (1.0 - 2.0 * np.real(weight * np.exp(s * t)))
    assert np.abs(run.voltage - exact).max() < 1e-6 * e             # solver's tolerance over five swings
    assert run.taken[-1] == pytest.approx(np.trapezoid(g * exact**2, t), rel=2e-3)      # trapezoids of 5 us


def test_energy_of_an_almost_ideal_clamp():
    """1 mohm beyond the level: 1e-3 ohm against sqrt(L/C) = 32 ohm, less than 1e-4 of the level at any current here."""
    e, level, l, c = 10e3, 15e3, 1e-3, 1e-6
    curve = clamp.Curve(np.array([level, level + 1.0]), np.array([0.0, 1e3]))
    t = np.linspace(0.0, 3e-4, 301)
    run = clamp.surge(curve, lambda time: e, 1e-9, l, c, t)
    assert run.voltage.max() == pytest.approx(level, rel=1e-4)
    assert run.taken[-1] == pytest.approx(clamp.ideal_step_energy(e, level, l, c), rel=1e-4)


def test_energy_balance_and_quadrature():
    """Given = stored + lost + taken; the arrester's energy again by trapezoids over its voltage and current."""
    w, r, l, c = 100.0 * np.pi, 0.5, 8e-3, 5e-6
    t = np.linspace(0.0, 0.03, 60001)
    run = clamp.surge(CURVE, lambda time: 18e3 * np.cos(w * time), r, l, c, t)
    stored = 0.5 * (l * run.current**2 + c * run.voltage**2)
    assert run.given == pytest.approx(stored + run.lost + run.taken, abs=1e-5 * run.given.max())    # tolerance
    assert run.taken[-1] > 0.05 * run.given.max()
    # 0.5 us against kinks of the characteristic that the voltage passes within 20 us
    assert np.trapezoid(run.voltage * run.clamp, t) == pytest.approx(run.taken[-1], rel=1e-4)
