"""Stand-ins for stored runs of switching: openings, energisations, arresters and faults in closed forms."""

from types import SimpleNamespace

import numpy as np
from figure_runs import CREST, SyntheticRun, make_event, make_link, make_node, make_phases, make_row

from sim.results.run import Event, Stretch

ORDER = 0.1
PHASES = "abc"
TURN = 2.0 * np.pi * 50.0
ZEROS = {"a": 0.1034, "b": 0.1084, "c": 0.1084}


def make_case(**parts):
    """A grid at 11 kV, a breaker and what it feeds; any part can be replaced."""
    lists = {"title": "Sorrelmere: feeder of 11 kV", "nodes": [make_node("host", 11e3, um=12e3),
                                                               make_node("feeder", 11e3, um=12e3)],
             "grids": [SimpleNamespace(name="shore", node="host", rated_v=11e3, frequency_hz=50.0)], "drives": [],
             "machines": [], "shunts": [], "cables": [], "transformers": [], "arresters": [], "faults": [],
             "reactors": [], "breakers": [make_link("feeder_breaker", "host", "feeder", closed=True, rated_v=12e3)],
             "events": [make_event("open", "feeder_breaker", ORDER)], "study": SimpleNamespace(duration_s=0.3)}
    return SimpleNamespace(name="sorrelmere", **(lists | parts))


def make_summary(rows=(), sentence="not assessed: no machine was started in this run", **parts):
    return {"verdict": "not assessed", "sentence": sentence, "motors": {}, "criteria": list(rows),
            "data_grade": "C", "stepout_version": "0.1.0", "case_sha256": "3f9a" * 16, **parts}


def make_stretch(t, signals):
    return Stretch("waveform", t, signals)


def make_opening_run(label="sorrelmere", rated=12e3, natural=12.6e3, interval=4e-6, reignitions=0):
    """A fault behind the breaker is cleared: pole a first, at 1.5 times the phase voltage, then b and c together."""
    t = np.arange(0.08, 0.2, interval)
    case = make_case()
    case.breakers[0].rated_v = rated
    case.nodes[0].um_v = case.nodes[1].um_v = rated
    host, poles = {}, {}
    for pole, weight, sign in (("a", 1.5, 1.0), ("b", 0.87, -1.0), ("c", 0.87, 1.0)):
        since = np.maximum(t - ZEROS[pole], 0.0)
        ring = np.exp(-since / 3e-4) * np.cos(2.0 * np.pi * natural * since)
        host[f"voltage_{pole}"] = sign * weight * CREST * 11e3 * (np.cos(TURN * since) - ring) * (t > ZEROS[pole])
        poles[f"current_{pole}"] = np.where(t < ZEROS[pole], sign * 9e3 * np.sin(TURN * (ZEROS[pole] - t)), 0.0)
    signals = {"host": host | {"voltage": np.full(len(t), 11e3)}, "feeder": make_phases(t, 0.0) | {"voltage": 0.0 * t},
               "feeder_breaker": poles}
    events = [Event(ORDER, "open", "feeder_breaker", "feeder_breaker opens"),
             *(Event(ZEROS["a"] - 2e-4 * k + 1e-4 * (kind == "reignition"), kind, "feeder_breaker",
                    f"feeder_breaker pole a {word}", phase="a")
               for k in range(reignitions, 0, -1)
               for kind, word in (("pole_open", "opens"), ("reignition", "re-ignites"))),
             *(Event(at, "pole_open", "feeder_breaker", f"feeder_breaker pole {pole} opens", phase=pole)
               for pole, at in ZEROS.items())]
    entry = {"poles": [{"pole": pole, "ordered_s": ORDER, "opened_s": at} for pole, at in ZEROS.items()]}
    rows = [make_row("recovery_rate", "feeder_breaker", 150.0, 100.0, "fail")]
    return SyntheticRun(case, [make_stretch(t, signals)], events, {}, make_summary(
        rows, breakers={"feeder_breaker": entry}), label)


def make_inrush_run(label="sorrelmere_inrush", own_currents=True):
    """A transformer is energised at a zero of phase a: offset flux up to 1.9 pu decays, current beyond the knee."""
    t = np.arange(0.08, 0.4, 2e-5)
    nodes = [make_node("host", 33e3, um=36e3), make_node("feeder", 33e3, um=36e3), make_node("motor_bus", 6.6e3)]
    case = make_case(nodes=nodes, breakers=[make_link("feeder_breaker", "host", "feeder", closed=False, rated_v=36e3)],
                     transformers=[make_link("step_down", "feeder", "motor_bus", knee_pu=1.15)],
                     events=[make_event("close", "feeder_breaker", ORDER)])
    since, on = np.maximum(t - ORDER, 0.0), t >= ORDER
    flux, currents = {}, {}
    for k, phase in enumerate(PHASES):
        angle = -2.0 * np.pi * k / 3.0
        limb = on * (np.cos(angle) * np.exp(-since / 0.15) - np.cos(TURN * since + angle))
        flux[f"flux_from_{phase}"] = limb
        flux[f"flux_to_{phase}"] = 0.98 * limb
        beyond = np.sign(limb) * np.maximum(np.abs(limb) - 1.15, 0.0)
        currents[phase] = 2.0 * np.sqrt(2.0) * limb + 900.0 * beyond
    signals = {name: make_phases(t, CREST * volts * live) | {"voltage": volts * live * np.ones(len(t))}
               for name, volts, live in (("host", 33e3, 1.0), ("feeder", 33e3, on), ("motor_bus", 6.6e3, on))}
    signals["step_down"] = flux | ({f"current_from_{p}": i for p, i in currents.items()} if own_currents else {})
    signals["feeder_breaker"] = {f"current_{p}": i + 30.0 * on * np.cos(TURN * t) for p, i in currents.items()}
    events = [Event(ORDER, "close", "feeder_breaker", "feeder_breaker closes"),
             *(Event(ORDER, "pole_close", "feeder_breaker", f"feeder_breaker pole {p} closes", phase=p)
               for p in PHASES)]
    return SyntheticRun(case, [make_stretch(t, signals)], events, {}, make_summary(), label)


def make_zeros_run(label="ambervane", share=0.7, end=1.2):
    """Cable and reactors are closed at a zero of phase a: the reactors' offset takes the zeros away."""
    t = np.arange(0.08, end, 5e-5)
    case = make_case(nodes=[make_node("host", 132e3, um=145e3), make_node("feeder", 132e3, um=145e3)],
                     breakers=[make_link("feeder_breaker", "host", "feeder", closed=False, rated_v=145e3)],
                     events=[make_event("close", "feeder_breaker", ORDER)],
                     title="Ambervane: energising with reactors of 70 %")
    since, on, poles = np.maximum(t - ORDER, 0.0), t >= ORDER, {}
    for k, phase in enumerate(PHASES):
        angle = -2.0 * np.pi * k / 3.0
        poles[f"current_{phase}"] = 400.0 * on * ((1.0 - share) * np.cos(TURN * since + angle)
                                                  + share * np.cos(angle) * np.exp(-since * TURN / 300.0))
    signals = {"feeder_breaker": poles,
               "host": make_phases(t, CREST * 132e3) | {"voltage": np.full(len(t), 132e3)},
               "feeder": make_phases(t, CREST * 132e3 * on) | {"voltage": 132e3 * on}}
    entry = {"missing_zero_cycles": 40.0, "poles": []}
    return SyntheticRun(case, [make_stretch(t, signals)],
                        [Event(ORDER, "close", "feeder_breaker", "feeder_breaker closes")], {},
                        make_summary(breakers={"feeder_breaker": entry}), label)


def make_arrester_run(label="sorrelmere_arrester", energy=200e3, power=25):
    """A ringing overvoltage of 2.4 pu drives an arrester of 36 kV: current by a power of the voltage."""
    t = np.arange(0.08, 0.3, 1e-5)
    arrester = SimpleNamespace(name="guard", node="feeder", rated_v=42e3, continuous_v=34e3, energy_j=energy)
    nodes = [make_node("host", 33e3, um=36e3), make_node("feeder", 33e3, um=36e3)]
    case = make_case(nodes=nodes, arresters=[arrester], events=[make_event("close", "feeder_breaker", ORDER)])
    since, on, volts, amps = np.maximum(t - ORDER, 0.0), t >= ORDER, {}, {}
    for k, phase in enumerate(PHASES):
        angle = -2.0 * np.pi * k / 3.0
        ring = np.exp(-since / 0.02) * np.cos(2.0 * np.pi * 300.0 * since) * np.cos(angle)
        u = CREST * 33e3 * on * (np.cos(TURN * since + angle) - 1.9 * ring)
        u = np.sign(u) * np.minimum(np.abs(u), 66e3)
        volts[f"voltage_{phase}"] = u
        amps[f"current_{phase}"] = 150.0 * np.sign(u) * (np.abs(u) / 62e3) ** power
    signals = {"feeder": volts | {"voltage": 33e3 * on}, "guard": amps}
    stretch = make_stretch(t, signals)
    highest = max(np.abs(i).max() for i in amps.values())
    entry = {"energy_kj": 12.3, "energy_pct": 6.2, "peak_current_a": float(highest), "peak_voltage_kv": 66.0}
    return SyntheticRun(case, [stretch], [Event(ORDER, "close", "feeder_breaker", "feeder_breaker closes")], {},
                        make_summary(arresters={"guard": entry}), label)


def make_fault_run(label="sorrelmere_fault", clear=0.197, voltages=True):
    """An earth fault on phase a of a network without earthed neutral: the sound phases rise to sqrt(3)."""
    t = np.arange(0.06, 0.4, 2e-5)
    fault = SimpleNamespace(name="dig_in", node="feeder", phases="a", earth=True, at_s=ORDER, clear_s=clear,
                            resistance_ohm=1.0)
    case = make_case(faults=[fault], events=[])
    gone = np.inf if clear is None else 0.01 * np.ceil(100.0 * clear)       # the current's next zero
    on = (t >= ORDER) & (t < gone)
    crest = CREST * 11e3
    phases = make_phases(t, crest)
    shift = phases["voltage_a"] * on
    signals = {"dig_in": {"current_a": 60.0 * on * np.cos(TURN * t + 0.5 * np.pi), "current_b": 0.0 * t,
                          "current_c": 0.0 * t}}
    if voltages:
        ring = 0.5 * crest * on * np.exp(-np.maximum(t - ORDER, 0.0) / 0.005) * np.sin(3000.0 * (t - ORDER))
        signals["feeder"] = {name: wave - shift + (ring if name != "voltage_a" else 0.0)
                             for name, wave in phases.items()} | {"voltage_zero": -shift,
                                                                  "voltage": np.full(len(t), 11e3)}
    events = [Event(ORDER, "fault", "dig_in", "dig_in: phase a to earth")]
    if clear is not None:
        events += [Event(clear, "fault_cleared", "dig_in", "dig_in goes out"),
                  Event(gone, "pole_open", "dig_in", "dig_in arc on phase a goes out", phase="a")]
    summary = make_summary(faults={"dig_in": {"peak_current_a": 60.0, "rms_current_a": 42.4}})
    return SyntheticRun(case, [make_stretch(t, signals)], events, {}, summary, label)
