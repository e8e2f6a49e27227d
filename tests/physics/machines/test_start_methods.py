"""Starts without a drive: series reactor, autotransformer, capacitors, thyristors; against phasors and closed forms."""

import numpy as np
import pytest
from engines.circuits import CREST, TURN, breaker, event, grid, joined, machine, make_case, shunt, write

from sim.engines.run.timeline import simulate
from sim.measures.signals.axis import join_signal, join_times
from sim.params.motor.circuit import input_impedance

KV = 6.6
STUCK = {"kind": "pump", "duty_kw": 2000.0, "duty_rpm": 1480.0, "breakaway_pct": 300.0}


def held(*parts, events=(), mva=2000.0, duration=10.0):
    """A stuck motor behind a grid, until the offset left in its rotor has gone (time constant 0.9 s)."""
    return make_case(grid(kv=KV, mva=mva, x_over_r=10.0), *parts, machine("out", kv=KV, kw=2000.0, load=STUCK), *events,
                     duration=duration, tolerance_pu=1e-6)


def at_end(case, name="booster", quantity="current"):
    """Mean over the last second."""
    result = simulate(case)
    t, values = join_times(result), join_signal(result, name, quantity)
    late = t > t[-1] - 1.0
    return np.trapezoid(values[late], t[late]) / np.ptp(t[late])


def impedances(case):
    """Supply and motor at standstill. [ohm]"""
    z = (1e3 * KV) ** 2 / case.grids[0].short_circuit_va
    x = z / np.hypot(1.0, 0.1)
    return complex(0.1 * x, x), complex(input_impedance(case.machines[0].motor.circuit, 1.0))


def test_series_reactor_against_phasors():
    """I = V/(sqrt(3) (Zs + R + jX + Zm)); the torque falls with the square of the current.  2e-3: contacts."""
    coil = write("[[series_reactor]]", name="coil", from_="head", to="out", reactance_ohm=2.0, quality=40.0)
    direct = held(breaker("bus", "out", closed=False), events=(event(0.1, "close"),))
    eased = held(breaker(closed=False), coil, events=(event(0.1, "close"),))
    source, motor = impedances(direct)
    expected = [1e3 * KV / (np.sqrt(3.0) * abs(source + more + motor)) for more in (0.0, 2.0 / 40.0 + 2.0j)]
    found = [at_end(case) for case in (direct, eased)]
    assert found == pytest.approx(expected, rel=1e-3)
    torques = [at_end(case, quantity="torque") for case in (direct, eased)]
    assert torques[1] / torques[0] == pytest.approx((expected[1] / expected[0]) ** 2, rel=5e-3)


def test_autotransformer_divides_the_line_current_by_the_square_of_its_tap():
    """Ideal: motor current k times, line current and torque k^2 times those of a direct start (any text on starters,
    e.g. G. K. Dubey, *Fundamentals of Electrical Drives*, chapter 6).  Leakage and no-load current are made small."""
    unit = write("[[autotransformer]]", name="unit", from_="head", to="out", tap_pct=65.0, rated_mva=20.0,
                 impedance_pct=0.05, no_load_current_pct=0.001, knee_pu=3.0)
    direct = held(breaker("bus", "out", closed=False), events=(event(0.1, "close"),))
    eased = held(breaker(closed=False), unit, events=(event(0.1, "close"),))
    ratio = {}
    for name, quantity in (("booster", "current"), ("booster", "torque"), ("gear", "current")):
        ratio[name, quantity] = at_end(eased, name, quantity) / at_end(direct, name, quantity)
    # a supply of 2000 MVA drops 0.6 % of the direct start's voltage, less of the other's
    assert ratio["booster", "current"] == pytest.approx(0.65, rel=0.01)
    assert ratio["gear", "current"] == pytest.approx(0.65**2, rel=0.01)
    assert ratio["booster", "torque"] == pytest.approx(0.65**2, rel=0.02)


def test_capacitors_raise_the_motors_voltage_as_phasors_say():
    bank = shunt("out", capacitance_uf=300.0, connection="series", resistance_ohm=0.05, earthed=False)
    case = held(breaker("bus", "out", closed=False), bank, events=(event(0.1, "close"),), mva=60.0)
    source, motor = impedances(case)
    with_bank = 1.0 / (1.0 / motor + 1.0 / (0.05 + 1.0 / (1j * TURN * 300e-6)))
    expected = [1e3 * KV * abs(z / (source + z)) for z in (motor, with_bank)]
    assert expected[1] > 1.05 * expected[0]
    assert at_end(case, "out", "voltage") == pytest.approx(expected[1], rel=1e-3)


def controlled(angle_deg, gate_deg, earthed, duration=0.15):
    """A soft starter at a constant angle before a resistor; the last two cycles of phase voltages behind it."""
    soft = "[breaker.soft_start]\n" + "".join(f"{key} = {value}\n" for key, value in (
        ("start_angle_deg", angle_deg), ("end_angle_deg", angle_deg), ("ramp_s", 10.0), ("gate_deg", gate_deg)))
    case = make_case(grid(kv=1.0, mva=1000.0, x_over_r=50.0, earthed=earthed),
                     breaker("bus", "out", closed=False), soft,
                     shunt("out", resistance_ohm=10.0, earthed=earthed), event(0.02, "close"), duration=duration,
                     waveform_step_us=2.0)
    result = simulate(case, "waveform")
    t, volts = joined(result, "out", "voltage_a")
    if not earthed:                                                # to the star point of the resistors
        volts = volts - joined(result, "out", "voltage_zero")[1]
    late = t > duration - 0.04
    return t[late], volts[late]


def mean(t, values):
    """Mean over the span of unevenly stored points: a step is cut where a current passes its zero."""
    return np.trapezoid(values, t) / (t[-1] - t[0])


@pytest.mark.parametrize("angle", (30.0, 60.0, 90.0, 120.0))
def test_phase_control_with_neutral(angle):
    """Each phase for itself: V/Vs = sqrt(1 - a/pi + sin 2a/(2 pi)).

    M. H. Rashid, *Power Electronics*, AC voltage controllers (from memory, to be checked).  1 %: the contact closes
    over a fraction of a degree.
    """
    a = np.deg2rad(angle)
    t, volts = controlled(angle, 20.0, True)
    rms = np.sqrt(mean(t, volts**2)) / (CREST * 1e3 / np.sqrt(2.0))
    assert rms == pytest.approx(np.sqrt(1.0 - a / np.pi + np.sin(2.0 * a) / (2.0 * np.pi)), rel=0.01)


@pytest.mark.parametrize("angle", (30.0, 45.0, 75.0))
def test_phase_control_without_neutral(angle):
    """Three wires: two or three phases conduct.  Output RMS by Rashid for 0 to 60 and for 60 to 90 degrees (from
    memory; both give 0.84 Vs at 60 degrees), and 5th and 7th harmonics instead of the third."""
    a = np.deg2rad(angle)
    inner = np.pi / 6.0 - a / 4.0 + np.sin(2.0 * a) / 8.0 if angle < 60.0 else (
        np.pi / 12.0 + 3.0 * np.sin(2.0 * a) / 16.0 + np.sqrt(3.0) * np.cos(2.0 * a) / 16.0)
    t, volts = controlled(angle, 70.0, False)
    rms = np.sqrt(mean(t, volts**2)) / (CREST * 1e3 / np.sqrt(2.0))
    assert rms == pytest.approx(np.sqrt(6.0 / np.pi * inner), rel=0.015)
    parts = [abs(mean(t, volts * np.exp(-1j * h * TURN * t))) for h in (1, 3, 5, 7)]
    assert parts[1] < 0.01 * parts[0] and parts[2] > 0.02 * parts[0]


def test_a_soft_starter_ends_in_its_bypass():
    """After the ramp the poles stay closed and the run goes back to the envelope engine."""
    soft = "[breaker.soft_start]\nstart_angle_deg = 90\nend_angle_deg = 20\nramp_s = 0.3\n"
    case = make_case(grid(kv=KV, mva=200.0), breaker("bus", "out", closed=False), soft,
                     machine("out", kv=KV, kw=500.0, inertia=2.0), event(0.02, "close"), duration=2.0)
    result = simulate(case)
    assert [mark.what for mark in result.events].count("bypass") == 3
    assert result.stretches[-1].engine == "envelope"
    assert join_signal(result, "out", "voltage")[-1] > 0.98 * 1e3 * KV
    assert join_times(result)[-1] == pytest.approx(2.0)
    assert not result.interruptions                         # thyristors that block are no breaker operations
