"""The opening of a motor: closed forms of its parts, and the whole of it by an integrator with event functions."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from . import motor_opening as exact
from . import switching

W = 100.0 * np.pi
CREST = np.sqrt(2.0 / 3.0) * 6600.0
SOURCE_H = 6600.0**2 / 30e6 / W
PLAIN = exact.Circuit(CREST, 50.0, 0.1 * W * SOURCE_H, SOURCE_H, 60e-9, 10e-9, 2.0, 40e-6, 30e-9, 4.0, 45e-3)
WEAK = exact.Gap(500.0, 20e6, 60e3, 300e6)
STRONG = exact.Gap(1e6, 1e6)
PARTS = 5.3e-3              # 0.14 ms ahead of the zero of phase b


def test_steady_state_only_turns():
    matrix = exact.make_matrix(PLAIN, [True] * 3)
    step = exact.expm(matrix * 1e-6)
    assert step @ exact.steady_state(PLAIN, 3e-3) == pytest.approx(exact.steady_state(PLAIN, 3.001e-3), rel=1e-9)


def test_earthed_phases_of_a_strong_gap_open_at_their_own_zeros():
    found = exact.open_poles(PLAIN._replace(earthed=True), STRONG, [0.0] * 3, 0.02)
    times = sorted(t for t, _, _ in found.operations)
    assert found.count("open") == 3 and np.diff(times) == pytest.approx(0.01 / 3.0, abs=1e-9)


def test_isolated_star_loses_its_last_two_poles_together():
    """A quarter of a cycle after the first; 30 nF of the open terminals move the zeros by microseconds."""
    found = exact.open_poles(PLAIN, STRONG, [0.0] * 3, 0.02)
    times = sorted(t for t, _, _ in found.operations)
    assert times[1] - times[0] == pytest.approx(5e-3, abs=5e-5) and times[2] - times[1] < 5e-5


def test_chopped_current_swings_into_the_capacitance():
    """sqrt(v^2 + i^2 L/C), each phase for itself; the resistance takes less than 0.5 % of the first crest."""
    circuit, chop = PLAIN._replace(earthed=True), 5.0
    found = exact.open_poles(circuit, exact.Gap(1e6, 1e6, chop=chop), [0.0] * 3, 0.02)
    for t, phase, _ in found.operations:
        whole = complex(PLAIN.source_ohm + PLAIN.cable_ohm + PLAIN.motor_ohm,
                        W * (PLAIN.source_h + PLAIN.cable_h + PLAIN.motor_h))
        emf = CREST * np.exp(1j * (W * t + exact.TURNS[phase]))
        volts = np.real(emf * complex(PLAIN.motor_ohm, W * PLAIN.motor_h) / whole)
        assert abs(np.real(emf / whole)) == pytest.approx(chop, abs=0.3)        # less the capacitance's current
        crest = switching.chop_voltage(chop, PLAIN.motor_h, PLAIN.head_f + PLAIN.motor_f, volts)
        assert found.motor[phase] == pytest.approx(crest, rel=0.01)


def test_struck_gap_finds_its_zero_after_half_a_period_of_the_loop():
    """Bus and head against the motor's capacitance: 174 kHz; 5 %: the cable swings by itself as the gap strikes."""
    circuit = PLAIN._replace(earthed=True, cable_ohm=0.2)
    found = exact.open_poles(circuit, exact.Gap(500.0, 5e6, quench=1e12), [0.0054] * 3, 2e-3)
    strikes = [k for k, one in enumerate(found.operations) if one[2] == "strike"]
    near = PLAIN.bus_f + PLAIN.head_f
    series = near * PLAIN.motor_f / (near + PLAIN.motor_f)
    half = 0.5 / switching.recovery_frequency(PLAIN.cable_h, series)
    first = found.operations[strikes[0]]
    zero = next(one for one in found.operations[strikes[0]:] if one[1:] == (first[1], "open"))
    assert zero[0] - first[0] == pytest.approx(half, rel=0.05)
    fastest = np.abs(np.linalg.eigvals(exact.make_matrix(circuit, [True] * 3)).imag).max()
    assert np.pi / fastest == pytest.approx(half, rel=0.005)


def integrate(circuit, gap, parting, count):
    """The same by an integrator with event functions, phase quantities written out: the first operations."""
    t, closed, out = parting, [True] * 3, []
    x = exact.steady_state(circuit, t)[:18]

    def list_currents(y):
        """What both ends ask of a closed pole, so that their voltages rise alike."""
        both = circuit.bus_f + circuit.head_f
        return np.array(closed, dtype=float) * (circuit.head_f * y[:3] + circuit.bus_f * y[9:12]) / both

    def rates(time, y):
        source, bus, head, line, motor, coil = y.reshape(6, 3)
        emf = circuit.crest * np.cos(W * time + exact.TURNS)
        star = 0.0 if circuit.earthed else motor.mean()
        pole = list_currents(y)
        return np.concatenate([(emf - bus - circuit.source_ohm * source) / circuit.source_h,
                               (source - pole) / circuit.bus_f, (pole - line) / circuit.head_f,
                               (head - motor - circuit.cable_ohm * line) / circuit.cable_h,
                               (line - coil) / circuit.motor_f,
                               (motor - star - circuit.motor_ohm * coil) / circuit.motor_h])

    def current(phase):
        def margin(time, y):
            return list_currents(y)[phase]
        margin.terminal = True
        return margin

    def across(phase):
        def margin(time, y):
            return abs(y[3 + phase] - y[6 + phase]) - min(gap.start + gap.rise * (time - parting), gap.most)
        margin.terminal, margin.direction = True, 1.0
        return margin

    while len(out) < count:
        events = [current(phase) if closed[phase] else across(phase) for phase in range(3)]
        run = solve_ivp(rates, (t, t + 5e-3), x, method="DOP853", rtol=1e-11, atol=1e-9, events=events,
                        max_step=2e-6)
        t, x = run.t[-1], run.y[:, -1].copy()
        hit = [phase for phase in range(3) if len(run.t_events[phase])]
        for phase in hit:
            if not closed[phase]:
                closed[phase] = True
                out.append((t, phase, "strike"))
                x[[3 + phase, 6 + phase]] = np.average(x[[3 + phase, 6 + phase]],
                                                       weights=[circuit.bus_f, circuit.head_f])
            elif abs(list_currents(rates(t, x))[phase]) <= gap.quench:
                closed[phase] = False
                out.append((t, phase, "open"))
        t += 1e-12                      # past the event
        x = x + 1e-12 * rates(t, x)
    return out


@pytest.mark.parametrize("earthed", [True, False])
def test_whole_opening_agrees_with_an_integrator(earthed):
    """The first twelve operations; later ones hang on the last digits of these."""
    circuit = PLAIN._replace(earthed=earthed)
    found = exact.open_poles(circuit, WEAK, [PARTS] * 3, 1e-3).operations
    expected = integrate(circuit, WEAK, PARTS, 14)
    assert [one[1:] for one in found[:12]] == [one[1:] for one in expected[:12]]
    assert [one[0] for one in found[:12]] == pytest.approx([one[0] for one in expected[:12]], abs=2e-9)
