"""Breakaway: a machine leaves standstill when its torque exceeds what its driven machine holds, and not before.

The voltage of a drive comes up in a straight line, so the torque at standstill grows with the square of time and the
moment of breakaway tells the torque that was held.
"""

import numpy as np
import pytest
from engines.circuits import drive, machine, make_case

from sim.engines.run.timeline import simulate

KV, KW, RISE = 6.0, 2000.0, 4.0
STATOR, ROTOR, MAGNETISING = 0.01 + 0.1j, 0.012 + 0.1j, 3.5j


def start(**load):
    return make_case(drive("out", kv=KV, kva=2e5, output_resistance_pct=0.0, output_reactance_pct=0.01, start_hz=50.0,
                           voltage_rise_s=RISE, hold_s=10.0, current_limit_pct=400.0),
                     machine("out", kv=KV, kw=KW, load={"duty_rpm": 1470.0, **load}), duration=RISE, bandwidth_khz=1.0)


def standstill_torque(case):
    """Steady air-gap torque at standstill and rated voltage, by the equivalent circuit. [N m]"""
    circuit = case.machines[0].motor.circuit
    stator = complex(circuit.stator_resistance_ohm, circuit.stator_reactance_ohm)
    rotor = complex(circuit.rotor_resistance_ohm, circuit.rotor_reactance_ohm)
    main = 1j * circuit.magnetising_reactance_ohm
    volts = 1e3 * KV * abs(main / (stator + main))
    behind = stator * main / (stator + main)
    current = volts / abs(behind + rotor)                       # sqrt(3) times the RMS phase current
    return current**2 * rotor.real / (100.0 * np.pi / 2.0)      # air-gap power over synchronous speed


@pytest.mark.parametrize("engine", ["envelope", "waveform"])
@pytest.mark.parametrize("constant, breakaway", [(20.0, 5.0), (5.0, 20.0)])
def test_a_compressor_holds_the_larger_of_its_constant_part_and_its_breakaway(engine, constant, breakaway):
    """One point of the envelope engine is 4 ms later than the next; in the waveform engine the offset from the start,
    which decays with the rotor's time constant, adds a ripple of some 0.1 % to the torque."""
    case = start(kind="compressor", constant_pct=constant, breakaway_pct=breakaway)
    held = 0.2 * 1e3 * KW / (1470.0 * np.pi / 30.0)
    expected = RISE * np.sqrt(held / standstill_torque(case))
    assert 0.4 * RISE < expected < 0.95 * RISE                  # the case can tell
    result = simulate(case, engine)
    freed, = [mark.t for mark in result.events if mark.what == "breakaway"]
    assert freed == pytest.approx(expected, abs=5e-3)
    assert result.machines["booster"].available_torque == pytest.approx(held, rel=2e-3)


@pytest.mark.parametrize("constant, breakaway", [(20.0, 5.0), (5.0, 20.0)])
def test_the_same_torque_opposes_a_compressor_as_it_starts_to_turn(constant, breakaway):
    """No jump between standstill and motion: the excess of the breakaway over the constant part fades over 2 % of
    speed, and there is none where the constant part is the larger one."""
    case = start(kind="compressor", constant_pct=constant, breakaway_pct=breakaway)
    stretch = simulate(case, "envelope").stretches[-1]
    speed, asked = (stretch.signals["booster"][name] for name in ("speed", "load_torque"))
    x = speed / (1470.0 * np.pi / 30.0)
    fade = np.where(x < 0.02, (1.0 - x / 0.02) ** 2, 0.0)
    share = 0.01 * constant + (1.0 - 0.01 * constant) * x**2 + 0.01 * max(breakaway - constant, 0.0) * fade
    turning = speed > 0.0
    assert turning.sum() > 20
    assert asked[turning] == pytest.approx((share * 1e3 * KW / (1470.0 * np.pi / 30.0))[turning], rel=1e-9)
