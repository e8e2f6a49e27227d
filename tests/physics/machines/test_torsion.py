"""Motor and driven machine at both ends of a shaft that twists, by both engines.

The mechanics is integrated once more by a general-purpose solver from the air-gap torque that a run stored:

    J1 dw1/dt = T(t) - Ts,   J2 dw2/dt = Ts - TL(w2),   d twist/dt = w1 - w2,   Ts = k twist + c (w1 - w2)

(two masses on a spring: any text on machine dynamics).
"""

import numpy as np
import pytest
from energy_books import lost_share
from engines.circuits import breaker, build, event, grid, machine, make_case
from scipy.integrate import solve_ivp

from sim.engines.run.timeline import simulate
from sim.kernels.columns import SHAFT_FREED, SHAFT_SPEED, SHAFT_STATES, SHAFT_TWIST
from sim.kernels.elements.shaft import advance_train

J1, J2, STIFFNESS, DAMPING = 12.0, 8.0, 20e3, 40.0
SHAFT = {"inertia_kgm2": J1 + J2, "stiffness_knm_per_rad": STIFFNESS / 1e3, "damping_nms_per_rad": DAMPING}
# The stored torque is sampled (0.1 ms or the engine's own steps) and interpolated by straight lines; the waveform
# engine's shaft step is of order two, (w h)^2/12 a radian with w = 65/s and h = 4 us: nothing.  What is left
# is the interpolation between the envelope's samples.
AIM = {"waveform": 1e-3, "envelope": 1e-2}


def start(engine, load, duration=1.2):
    case = make_case(grid(), breaker("bus", "end", closed=False),
                     machine("end", load=load, motor={"inertia_kgm2": J1}, shaft=SHAFT),
                     event(0.02, "close"), duration=duration, tolerance_pu=1e-6, bandwidth_khz=5.0)
    result = simulate(case, engine)
    stretches = [s for s in result.stretches if len(s.t) > 2]
    signals = {name: np.concatenate([s.signals["booster"][name] for s in stretches])
               for name in ("speed", "torque", "load_speed", "shaft_torque", "load_torque")}
    return np.concatenate([s.t for s in stretches]), signals, result


def integrate(t, torque, first):
    """Both speeds and the twist, free of load, from the time `first` at rest."""
    def slope(time, y):
        carried = STIFFNESS * y[2] + DAMPING * (y[0] - y[1])
        return [(np.interp(time, t, torque) - carried) / J1, carried / J2, y[0] - y[1]]

    run = solve_ivp(slope, (first, t[-1]), np.zeros(3), "DOP853", t[t >= first], rtol=1e-7, atol=1e-9, max_step=1e-3)
    return run.t, run.y


@pytest.mark.parametrize("engine", ["waveform", "envelope"])
def test_two_masses_follow_the_mechanics(engine):
    t, signals, _ = start(engine, {"kind": "none"})
    times, (fast, slow, twist) = integrate(t, signals["torque"], t[0])
    carried = STIFFNESS * twist + DAMPING * (fast - slow)
    here = np.isin(t, times)
    for name, exact in (("speed", fast), ("load_speed", slow), ("shaft_torque", carried)):
        gap = np.abs(signals[name][here] - exact).max() / np.abs(exact).max()
        assert gap < AIM[engine], name


def test_free_oscillation_has_the_textbook_frequency_and_damping():
    """Two masses on a spring, let go from a twist: a(t) = a0 exp(-c t/2Jr) (cos w t + c/(2 Jr w) sin w t) with
    w = sqrt(k/Jr - (c/2Jr)^2) and Jr = J1 J2/(J1 + J2).

    The midpoint rule turns w by (w h)^2/12 a radian: 2e-6 of the amplitude after a second at h = 0.1 ms.
    """
    _, network = build(grid(), machine("bus", load={"kind": "none"}, motor={"inertia_kgm2": J1}, shaft=SHAFT))
    machines, h, twist = network.tables.machines, 1e-4, 0.01
    speed, acceleration, shaft = np.zeros(1), np.zeros(1), np.zeros((1, SHAFT_STATES))
    shaft[0, SHAFT_FREED], shaft[0, SHAFT_TWIST] = 0.0, twist
    t = h * np.arange(1, 10001)
    found = np.zeros_like(t)
    for k, time in enumerate(t):
        advance_train(machines, 0, 0.0, 0.0, 0.0, time, h, speed, acceleration, shaft)
        found[k] = shaft[0, SHAFT_TWIST]
    reduced = J1 * J2 / (J1 + J2)
    rate = DAMPING / (2.0 * reduced)
    w = np.sqrt(STIFFNESS / reduced - rate**2)
    exact = twist * np.exp(-rate * t) * (np.cos(w * t) + rate / w * np.sin(w * t))
    assert np.abs(found - exact).max() < 5e-4 * twist
    assert J1 * speed[0] + J2 * shaft[0, SHAFT_SPEED] == pytest.approx(0.0, abs=1e-12)     # nothing acts from outside


@pytest.mark.parametrize("engine", ["waveform", "envelope"])
def test_driven_machine_sticks_while_the_motor_winds_up_the_shaft(engine):
    """Breakaway above what the motor can give: the load never moves, the twist ends at torque over stiffness."""
    t, signals, result = start(engine, {"kind": "pump", "breakaway_pct": 500.0}, duration=1.0)
    assert result.machines["booster"].locked and not result.machines["booster"].ever_moved
    assert np.abs(signals["load_speed"]).max() == 0.0
    late = t > 0.8
    assert signals["shaft_torque"][late].mean() == pytest.approx(signals["torque"][late].mean(), rel=0.02)
    assert np.abs(signals["speed"]).max() > 0.0


def test_breakaway_is_counted_on_the_shaft_torque():
    """The load leaves standstill when the shaft, not the air gap, carries its breakaway torque."""
    t, signals, result = start("waveform", {"kind": "pump", "breakaway_pct": 40.0})
    freed = next(mark.t for mark in result.events if mark.what == "breakaway")
    threshold = signals["load_torque"][0]
    at = np.interp(freed, t, signals["shaft_torque"])
    assert at == pytest.approx(threshold, rel=0.02)
    assert lost_share(result) < 1.2e-9


def test_both_engines_agree_on_a_start():
    runs = {engine: start(engine, {"kind": "pump"}, duration=2.0) for engine in ("waveform", "envelope")}
    ends = {engine: signals["load_speed"][-1] for engine, (_, signals, _) in runs.items()}
    peaks = {engine: signals["shaft_torque"].max() for engine, (_, signals, _) in runs.items()}
    assert ends["envelope"] == pytest.approx(ends["waveform"], rel=1e-3)
    assert peaks["envelope"] == pytest.approx(peaks["waveform"], rel=1e-2)
