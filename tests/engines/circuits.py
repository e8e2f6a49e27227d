"""Small circuits as case text, and engines on them without the timeline."""

import json
from types import SimpleNamespace

import numpy as np

from sim.case import parse_case
from sim.engines.envelope.engine import EnvelopeEngine
from sim.engines.handover import dead_state, to_waveform
from sim.engines.waveform.engine import WaveformEngine
from sim.network.build import build_network
from sim.network.tables import CLARKE
from sim.phasors.steady import steady_state

CREST = np.sqrt(2.0 / 3.0)      # phase crest of a line-to-line RMS voltage
TURN = 2.0 * np.pi * 50.0
LINEAR = 3.0                    # knee that no flux of these circuits reaches: iron is linear unless said otherwise
# the references of these circuits know neither losses that rise with frequency nor a rounded knee
LOSSLESS = {"high_frequency_quality": 1e9}
PLAIN = {"knee_rounding_pct": 0.0, **LOSSLESS}


def write(head, **values):
    """One table of a case file; a trailing underscore of a key is dropped (from_)."""
    lines = [f"{key.rstrip('_')} = {json.dumps(value)}" for key, value in values.items() if value is not None]
    return "\n".join([head, *lines, ""]) + "\n"


def study(duration=0.1, **more):
    return write("[study]", duration_s=duration, **more)


def node(name, **more):
    return write("[[node]]", name=name, **more)


def grid(node="bus", kv=10.0, mva=500.0, **more):
    return write("[[grid]]", **{"name": "supply", "node": node, "rated_kv": kv, "short_circuit_mva": mva, **more})


def breaker(start="bus", end="head", name="gear", closed=True, **more):
    return write("[[breaker]]", name=name, from_=start, to=end, closed=closed, **more)


def cable(start="head", end="tail", km=28.0, name="line", **more):
    """36 kV three-core cable, common practice."""
    data = {"resistance_ohm_per_km": 0.246, "inductance_mh_per_km": 0.41, "capacitance_uf_per_km": 0.18, **more}
    return write("[[cable]]", name=name, from_=start, to=end, length_km=km, **data)


def transformer(start, end, from_kv=10.0, to_kv=10.0, group="Dyn11", name="unit", **more):
    data = {"rated_mva": 4.0, "impedance_pct": 8.0, "knee_pu": LINEAR, **PLAIN, **more}
    return write("[[transformer]]", name=name, from_=start, to=end, from_kv=from_kv, to_kv=to_kv, vector_group=group,
                 **data)


def shunt(node, name="bank", **more):
    return write("[[shunt]]", name=name, node=node, **more)


def arrester(node, rated_kv=12.0, name="arrester", **more):
    return write("[[arrester]]", name=name, node=node, rated_kv=rated_kv, **more)


def reactor(node, mvar=2.0, name="coil", **more):
    plain = PLAIN if "knee_pu" in more else LOSSLESS
    return write("[[reactor]]", name=name, node=node, rated_mvar=mvar, **(plain | more))



def fault(at, phases="a", node="bus", name="short", **more):
    return write("[[fault]]", **{"name": name, "at_s": at, "phases": phases, "node": node, **more})


def machine(node, kv=10.0, kw=2000.0, inertia=40.0, load=None, name="booster", second=False, motor=None,
            shaft=None, **circuit):
    data = {"stator_resistance_pu": 0.01, "stator_reactance_pu": 0.1, "magnetising_reactance_pu": 3.5,
            "rotor_resistance_pu": 0.012, "rotor_reactance_pu": 0.1, **circuit}
    if second:
        data |= {"second_rotor_resistance_pu": 0.08, "second_rotor_reactance_pu": 0.06}
    straight = {} if motor and "no_load_voltage_pct" in motor else {"knee_pu": LINEAR}
    return (write("[[machine]]", name=name, node=node)
            + write("[machine.motor]",
                    **({"rated_kw": kw, "rated_kv": kv, "poles": 4} | straight | LOSSLESS | (motor or {})))
            + write("[machine.motor.circuit]", **data)
            + write("[machine.shaft]", **({"inertia_kgm2": inertia} | (shaft or {})))
            + write("[machine.load]", **(load or {"kind": "none"})))


def drive(node="bus", kv=10.0, kva=3000.0, **more):
    return write("[[drive]]", **{"name": "inverter", "node": node, "rated_kv": kv, "rated_kva": kva, **more})


def event(at, action, target="gear", **more):
    return write("[[event]]", at_s=at, action=action, target=target, **more)


def make_case(*parts, **settings):
    return parse_case('title = "a test circuit"\n' + study(**settings) + "".join(parts))


def build(*parts, **settings):
    """Case and network of some parts."""
    case = make_case(*parts, **settings)
    return case, build_network(case)


def make_ideal(network, source=0, resistance=0.0, inductance=0.0):
    """Replace the impedance of a grid: (almost) nothing, or the given [ohm, H]."""
    b = network.tables.sources.link[source]
    network.tables.links.r[:, b] = max(resistance, 1e-9)
    network.tables.links.l[:, b] = inductance


def make_constant(network, volts, source=0):
    """Turn a grid into a direct voltage: phase a stands at `volts`, b and c at minus half of it."""
    network.tables.sources.w[source] = 0.0
    network.tables.sources.phase[source] = 0.0
    network.tables.sources.volts[source] = volts / CREST


def grid_frames(network):
    return np.array([network.tables.sources.w[s] if s >= 0 else 0.0 for s in network.tables.islands.source])


def steady_envelope(network):
    """Envelope state with all grids in steady state, machines without flux."""
    state, frames = dead_state(network), grid_frames(network)
    for island, s in enumerate(network.tables.islands.source):
        state.theta[island] = network.tables.sources.phase[s] if s >= 0 else 0.0
    state.x[:] = steady_state(network, network.closed, frames)
    state.frame_w[:] = frames
    return state


def fixed_envelope(network, step, method="kennedy4", state=None):
    """Envelope engine that accepts every step of the given length (no error has any weight) and solves its
    stages to rounding; `state` is prepared for it."""
    engine = EnvelopeEngine(network, 1e-12, step, method)
    engine.scale_x[:], engine.scale_r[:] = np.inf, np.inf
    if state is not None:
        state.control[:3] = step, 1.0, 0.0
    return engine


def run_waveform(network, duration, step=4e-6, stride=1, state=None, close=(), t=0.0, engine=None):
    """Samples and last state of a waveform run from rest, or from a given state.

    Returns t, v (m, N, 3) phase voltages [V], samples, state and engine.
    """
    engine = engine or WaveformEngine(network, step, stride)
    state = state or to_waveform(network, dead_state(network))
    for name in close:
        engine.close(state, network.switch_names.index(name), t)
    reached, _ = engine.advance(state, t, t + duration)
    samples = engine.recorder.joined()
    engine.recorder.blocks = []
    phases = np.einsum("cp,mcn->mnp", CLARKE, samples.v)
    return SimpleNamespace(t=samples.t, v=phases, samples=samples, state=state, engine=engine, end=reached)


def joined(result, name, quantity):
    """Time and one signal of all waveform stretches of a result, one after the other."""
    pieces = [(s.t, s.signals[name][quantity]) for s in result.stretches if s.engine == "waveform"]
    return np.concatenate([t for t, _ in pieces]), np.concatenate([values for _, values in pieces])


def phases(result, name, stem="voltage"):
    """Time and the three phase signals, shape (m, 3)."""
    t, _ = joined(result, name, f"{stem}_a")
    return t, np.stack([joined(result, name, f"{stem}_{phase}")[1] for phase in "abc"], axis=1)


def list_moments(result, kind, target="gear"):
    """(time, phase 0 to 2) of each mark of one kind, in time; the phase is None where the label names no pole."""
    found = []
    for mark in result.events:
        if mark.what == kind and mark.where == target:
            words = [word for word in mark.label.split() if word in ("a", "b", "c")]
            found.append((mark.t, "abc".index(words[0]) if words else None))
    return found


def phasor(t, values, hz=50.0):
    """Crest phasor of the last whole cycle, shape (...): values = Re(phasor exp(2j pi hz t)) for t from 0."""
    late = t > t[-1] - 1.0 / hz - 0.1 * (t[-1] - t[-2])
    w, span = 2j * np.pi * hz, t[late]
    turn = np.exp(-w * span)[:, None]
    return 2.0 * hz * np.trapezoid(turn * values[late].reshape(len(span), -1), span, axis=0).reshape(values.shape[1:])


def level(t, values, start, end):
    """Mean over a span of time."""
    return values[(t >= start) & (t <= end)].mean(axis=0)
