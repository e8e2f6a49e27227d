"""A case and runs of it with signals in closed form, for tests of what is done with a run."""

import numpy as np

from sim.case import parse_case
from sim.kernels.columns import KNEES
from sim.measures import summarise
from sim.results.run import EnergyBalance, Event, MachineOutcome, Peak, RunResult, Stretch

CASE_TEXT = """\
title = "Quillfen: direct start over a short feeder"

[study]
duration_s = 2.0

[[grid]]
name = "shore"
node = "host"
rated_kv = 6.6
short_circuit_mva = 200

[[breaker]]
name = "feeder_breaker"
from = "host"
to = "cable_head"
closed = false

[[cable]]
name = "umbilical"
from = "cable_head"
to = "motor_bus"
length_km = 5
resistance_ohm_per_km = 0.2
inductance_mh_per_km = 0.4
capacitance_uf_per_km = 0.2
ampacity_a = 300

[[machine]]
name = "booster"
node = "motor_bus"
[machine.motor]
rated_kw = 2000
rated_kv = 6.6
poles = 4
[machine.motor.circuit]
stator_resistance_pu = 0.01
stator_reactance_pu = 0.1
magnetising_reactance_pu = 3.5
rotor_resistance_pu = 0.012
rotor_reactance_pu = 0.1
[machine.shaft]
inertia_kgm2 = 80
[machine.load]
kind = "pump"

[[event]]
at_s = 0.5
action = "close"
target = "feeder_breaker"
"""
NODES = {"host": 1.0, "cable_head": 0.98, "motor_bus": 0.95}
TURN = 2.0 * np.pi * 50.0


def make_case(*overrides, text=CASE_TEXT):
    return parse_case(text, overrides, "quillfen")


def make_signals(t, duration, phases=False):
    """Speed and torque rise in a straight line over the run, voltages and currents are constant."""
    signals = {name: {"voltage": np.full(len(t), share * 6600.0)} for name, share in NODES.items()}
    current = np.full(len(t), 800.0)
    signals["booster"] = {"speed": 155.0 * t / duration, "torque": 6000.0 + 1000.0 * t, "current": current,
                          "load_torque": 2000.0 * (t / duration) ** 2}
    signals["umbilical"] = {"current_from": current - 10.0, "current_to": current}
    if phases:
        crest = np.sqrt(2.0 / 3.0) * 6600.0
        for k, phase in enumerate("abc"):
            signals["host"][f"voltage_{phase}"] = crest * np.cos(TURN * t - 2.0 * np.pi * k / 3.0)
    return signals


def make_stretch(engine, start, end, samples, duration=2.0):
    t = np.linspace(start, end, samples)
    return Stretch(engine, t, make_signals(t, duration, engine == "waveform"))


def make_result(case=None, failure=None, **changes):
    """Envelope to 0.5 s, waveform to 0.7 s, envelope to the end; or, with a failure, only up to 0.7 s."""
    stretches = [make_stretch("envelope", 0.0, 0.5, 101), make_stretch("waveform", 0.5, 0.7, 4001),
                 make_stretch("envelope", 0.7, 2.0, 261)]
    given = {
        "stretches": stretches if failure is None else stretches[:2],
        "events": [Event(0.5, "close", "feeder_breaker", "feeder_breaker closes"),
                  Event(0.55, "breakaway", "booster", "booster breaks away")],
        "peaks": {name: Peak(5500.0 * share, 0.51, 9400.0 * share, 0.512) for name, share in NODES.items()},
        "machines": {"booster": MachineOutcome(False, True, True, 6000.0, None, None)},
        "energy": EnergyBalance(100.0, 20.0, 40.0, 39.99, 110.0),
        "steps": {"envelope": 360, "waveform": 4000, "newton": 700, "rejected": 3},
        "handovers": [{"t_s": 0.48, "to": "waveform", "why": "a switch is about to operate"}],
        "warnings": ["a synthetic run"], "settings": {"engine": "auto", "waveform_step_s": 5e-5},
        "timing": {"compile_s": 0.1, "solve_s": 0.2, "total_s": 0.3}}
    return RunResult(case or make_case(), failure=failure, **(given | changes))


def make_run(*overrides, **changes):
    """A result and its summary."""
    result = make_result(make_case(*overrides), **changes)
    return result, summarise(result)


def bend(knees, added):
    """Knees of a saturation curve and what each adds, both of shape (KNEES,): the unused ones are out of reach."""
    knee, excess = np.full(KNEES, np.inf), np.zeros(KNEES)
    knee[:np.size(knees)], excess[:np.size(added)] = knees, added
    return knee, excess
