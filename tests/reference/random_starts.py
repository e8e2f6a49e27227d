"""Random balanced starts of one motor as the text of a case file: direct, at reduced voltage, by a drive.

Sizes lie where a subsea feeder has them (common practice); inertias are light, so that a start takes a second or two.
Same seed, same start.
"""

import numpy as np

KINDS = ("direct", "reduced", "drive")


def random_start(seed: int) -> str:
    """Case text of start `seed`; its kind is KINDS[seed % 3].

    A direct start closes a breaker before or behind the step-down transformer, a reduced one has a reactor in series or
    a low supply, a drive ramps to its rated frequency or a part of it, over a step-up transformer or without one.
    """
    rng, kind = np.random.default_rng(seed), KINDS[seed % 3]
    hz = float(rng.choice([50.0, 60.0]))
    rated = {"kw": pick(rng, 300.0, 4000.0), "kv": float(rng.choice([3.3, 6.6, 11.0])), "hz": hz,
             "poles": int(rng.choice([2, 4, 6]))}
    way = make_way(rng, rated, float(rng.choice([11.0, 22.0, 33.0])))
    supply = {"direct": direct_supply, "reduced": reduced_supply, "drive": drive_supply}[kind](rng, rated, way)
    seconds = {"drive": 6.0}.get(kind, 3.0)
    study = ("study", {"duration_s": seconds, "bandwidth_khz": 2.0, "waveform_step_us": 20.0})
    return write(study, *supply, *make_machine(rng, rated))


def pick(rng, low, high):
    """A value between two, evenly on a logarithmic scale, to four digits."""
    return float(f"{np.exp(rng.uniform(np.log(low), np.log(high))):.4g}")


def make_way(rng, rated, kv):
    """Cable and step-down transformer from `head` to `low`, at a transmission voltage."""
    mva = pick(rng, 1.3, 3.0) * rated["kw"] / 800.0
    cable = {"name": "feeder", "from": "head", "to": "tail", "length_km": pick(rng, 2.0, 40.0),
             "resistance_ohm_per_km": pick(rng, 0.08, 0.3), "inductance_mh_per_km": pick(rng, 0.3, 0.5),
             "capacitance_uf_per_km": pick(rng, 0.12, 0.3)}
    unit = {"name": "stepdown", "from": "tail", "to": "low", "rated_mva": mva, "from_kv": kv, "to_kv": rated["kv"],
            "impedance_pct": pick(rng, 5.0, 9.0)}
    return kv, [("[cable]", cable), ("[transformer]", unit)]


def direct_supply(rng, rated, way, share=1.0):
    """A grid, strong to weak, and a breaker that closes; the motor hangs behind the transformer."""
    kv, parts = way
    grid = {"name": "host", "node": "bus", "rated_kv": kv, "frequency_hz": rated["hz"], "voltage_pu": share,
            "short_circuit_mva": pick(rng, 30.0, 300.0) * rated["kw"] / 1000.0, "x_over_r": pick(rng, 5.0, 20.0)}
    ends = ("bus", "head") if rng.random() < 0.4 else ("low", "terminals")
    if ends[0] == "bus":
        parts[1][1]["to"] = "terminals"
    else:
        parts[0][1]["from"] = "bus"
    close = {"at_s": float(f"{rng.uniform(0.05, 0.07):.5f}"), "action": "close", "target": "switch"}
    switch = {"name": "switch", "from": ends[0], "to": ends[1], "closed": False}
    return [("[grid]", grid), *parts, ("[breaker]", switch), ("[event]", close)]


def reduced_supply(rng, rated, way):
    """The same at a low supply, or with a reactor before the motor."""
    if rng.random() < 0.5:
        return direct_supply(rng, rated, way, share=float(f"{rng.uniform(0.8, 0.92):.3f}"))
    parts = direct_supply(rng, rated, way)
    for _, values in parts:
        for end in ("to", "from"):
            if values.get(end) == "terminals":
                values[end] = "choke"
    ohm = pick(rng, 0.05, 0.15) * rated["kv"] ** 2 / (rated["kw"] / 800.0)
    return [*parts, ("[series_reactor]", {"name": "starter", "from": "choke", "to": "terminals", "reactance_ohm": ohm})]


def drive_supply(rng, rated, way):
    """A drive at the head of the way, or behind a step-up transformer."""
    kv, parts = way
    stepped = rng.random() < 0.6
    kva = 1.5 * rated["kw"] / 0.8
    low = 3.3 if stepped else kv
    drive = {"name": "source", "node": "bus" if stepped else "head", "rated_kv": low, "rated_kva": kva,
             "frequency_hz": rated["hz"], "target_hz": float(rng.choice([0.5, 0.8, 1.0])) * rated["hz"],
             "start_hz": pick(rng, 2.0, 5.0), "hold_s": 0.2, "ramp_hz_per_s": pick(rng, 12.0, 30.0),
             "voltage_rise_s": 0.1, "boost_pct": pick(rng, 1.0, 3.0), "current_limit_pct": pick(rng, 120.0, 250.0)}
    up = {"name": "stepup", "from": "bus", "to": "head", "rated_mva": 1e-3 * kva, "from_kv": low, "to_kv": kv,
          "impedance_pct": 7.0}
    parts[1][1]["to"] = "terminals"
    return [("[drive]", drive), *([("[transformer]", up)] if stepped else []), *parts]


def make_machine(rng, rated):
    """Motor with a random circuit, a light shaft and a load of any kind."""
    second = rng.random() < 0.5
    circuit = {"stator_resistance_pu": pick(rng, 0.006, 0.015), "stator_reactance_pu": pick(rng, 0.07, 0.12),
               "magnetising_reactance_pu": pick(rng, 2.5, 4.0), "rotor_resistance_pu": pick(rng, 0.008, 0.03),
               "rotor_reactance_pu": pick(rng, 0.07, 0.13)}
    if second:
        circuit |= {"second_rotor_resistance_pu": pick(rng, 0.04, 0.1), "second_rotor_reactance_pu": 0.05}
    w = 4.0 * np.pi * rated["hz"] / rated["poles"]
    inertia = float(f"{2.0 * pick(rng, 0.1, 0.4) * 1e3 * rated['kw'] / w**2:.4g}")
    motor = {"rated_kw": rated["kw"], "rated_kv": rated["kv"], "frequency_hz": rated["hz"], "poles": rated["poles"]}
    return [("[machine]", {"name": "motor", "node": "terminals"}), ("machine.motor", motor),
            ("machine.motor.circuit", circuit), ("machine.shaft", {"inertia_kgm2": inertia}),
            ("machine.load", make_load(rng, rated))]


def make_load(rng, rated):
    kind = str(rng.choice(["pump", "compressor", "table", "none"]))
    if kind == "none":
        return {"kind": kind}
    duty = {"kind": kind, "duty_kw": pick(rng, 0.3, 0.95) * rated["kw"]}
    if kind == "pump":
        return duty | {"breakaway_pct": pick(rng, 5.0, 30.0)}
    if kind == "compressor":
        return duty | {"constant_pct": pick(rng, 3.0, 15.0)}
    return duty | {"speed_pct": [0.0, 50.0, 100.0], "torque_pct": [pick(rng, 5.0, 20.0), pick(rng, 10.0, 40.0), 100.0]}


def write(*tables) -> str:
    """Tables as the text of a case file."""
    parts = ['title = "random start"\n']
    for head, values in tables:
        lines = [f"{key} = {write_value(value)}" for key, value in values.items()]
        parts.append("\n".join([f"[{head}]", *lines]) + "\n")
    return "\n".join(parts)


def write_value(value):
    if isinstance(value, bool):
        return "true" if value else "false"
    return f'"{value}"' if isinstance(value, str) else repr(value)
