"""The envelope engine across switchings: it has to step over them, and to meet the waveform engine afterwards."""

from pathlib import Path

import numpy as np
import pytest

from engines.circuits import breaker, event, grid, machine, make_case
from sim.case import load_case
from sim.engines.run.timeline import simulate

CASES = Path(__file__).parents[2] / "cases"


def last(result, name, quantity):
    return result.stretches[-1].signals[name][quantity][-1]


@pytest.mark.parametrize("name", ["morrowgate_large_transformer", "morrowgate"])
def test_envelope_closes_on_a_motor_at_standstill(name):
    """The closing contact charges stray capacitances within a picosecond: only the step just after it is short.

    With linear cores: an offset that takes a core past its knee every cycle costs steps of its own.
    """
    linear = ("stepup.knee_pu=3", "subsea_transformer.knee_pu=3")
    case = load_case(CASES / f"{name}.toml", ("study.duration_s=3", *linear))
    alone, auto = simulate(case, "envelope"), simulate(case, "auto")
    assert alone.steps["envelope"] < 2.0 * auto.steps["envelope"]
    # what differs is the first swing: balanced in one, switched pole by pole in the other
    assert last(alone, "pump_motor", "speed") == pytest.approx(last(auto, "pump_motor", "speed"), rel=5e-3)


def test_waveform_and_auto_agree_after_a_direct_start():
    """The envelope takes over at 0.12 s and keeps to its tolerance of 1e-4 of nominal per step."""
    case = make_case(grid(), breaker("bus", "end", closed=False), machine("end", load={"kind": "pump"}),
                     event(0.02, "close"), duration=0.6)
    waveform, auto = simulate(case, "waveform"), simulate(case, "auto")
    assert [s.engine for s in auto.stretches][-1] == "envelope"
    for name, quantity in (("booster", "speed"), ("booster", "current"), ("bus", "voltage")):
        assert last(auto, name, quantity) == pytest.approx(last(waveform, name, quantity), rel=1e-3)


@pytest.mark.parametrize("engine", ["waveform", "envelope"])
def test_load_steps_and_speed_orders_need_no_hand_over(engine):
    case = make_case(grid(), breaker("bus", "end"), machine("end", load={"kind": "pump"}),
                     event(0.3, "load", "booster", load_pct=50.0), duration=0.4)
    result = simulate(case, engine)
    asked = np.concatenate([s.signals["booster"]["load_torque"] for s in result.stretches])
    speed = np.concatenate([s.signals["booster"]["speed"] for s in result.stretches])
    t = np.concatenate([s.t for s in result.stretches])
    k = np.searchsorted(t, 0.3 + 1e-9)
    assert asked[k] / asked[k - 1] == pytest.approx(0.5, rel=0.02)      # speed moves on within the step
    assert speed[k] == pytest.approx(speed[k - 1], rel=0.02)
