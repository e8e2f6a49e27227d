"""Random case files: a host, a feeder to the seabed and what hangs there, with faults, orders and every option.

A case is a dict of lists of dicts keyed like a case file; a value that is a dict is a table of its own within its row.
Sizes follow from a power drawn first, so that a case is possible without being sound: weak hosts, cables of 0.1 to
300 km, drives too small for their motors and faults at any time are among them on purpose.
"""

import numpy as np

from . import random_networks

KINDS = ("grid", "far_active", "far_rectifier", "far_mixed", "host_drive", "direct")
GROUPS = ("Dyn11", "YNd11", "Dd0", "YNyn0", "Yyn0", "Dyn5")
LEVELS = (11.0, 22.0, 33.0, 66.0, 132.0)
MOTOR_LEVELS = (3.3, 6.6, 11.0)
BANDS_KHZ = (1.0, 2.0, 5.0)
MOST_KM_KHZ = 150.0     # length times bandwidth that a cable's oscillators are kept within


def random_case(seed, kind=None, longest_s=2.0) -> dict:
    """Case of one of `KINDS`, by the seed where none is asked for.  Same seed, same case."""
    rng = np.random.default_rng(seed)
    kind = kind or KINDS[seed % len(KINDS)]
    mva, level = _pick(rng, 1.0, 40.0), float(rng.choice(LEVELS[:3] if rng.random() < 0.7 else LEVELS))
    case = {"study": [{"duration_s": _between(rng, 0.3, longest_s)}]}
    _add_feeder(rng, case, kind, mva, level)
    low = float(rng.choice(MOTOR_LEVELS))
    case["transformer"].append(_transformer(rng, "subsea", "end", "bus", mva * rng.uniform(0.9, 1.5), level, low))
    consumers = int(rng.integers(1, 5))
    for k in range(consumers):
        _add_consumer(rng, case, kind, k, mva / consumers, low)
    _add_extras(rng, case, mva, level, low)
    _add_study(rng, case)
    return {name: rows for name, rows in case.items() if rows}


def write_toml(case: dict, title: str) -> str:
    """The text of a case file."""
    parts = [f'title = "{title}"\n']
    for kind, rows in case.items():
        for row in rows:
            parts.append(f"[{kind}]\n" if kind == "study" else f"[[{kind}]]\n")
            inner = {key: value for key, value in row.items() if isinstance(value, dict)}
            parts += [f"{key} = {random_networks.show(value)}\n" for key, value in row.items() if key not in inner]
            for name, table in inner.items():
                parts.append(f"[{kind}.{name}]\n")
                parts += [f"{key} = {random_networks.show(value)}\n" for key, value in table.items()]
    return "\n".join(parts)


def _pick(rng, low, high):
    return random_networks.pick(rng, low, high)


def _between(rng, low, high):
    """A value between two, evenly, to three digits."""
    return float(f"{rng.uniform(low, high):.3g}")


def _maybe(rng, share, row, **values):
    """Take values up with a probability."""
    if rng.random() < share:
        row.update(values)


def _add_feeder(rng, case, kind, mva, level):
    """Host, step-up, a breaker in two of three and the cable."""
    host_kv = float(rng.choice((11.0, 13.8, 33.0)))
    case |= {name: [] for name in ("grid", "transformer", "breaker", "cable", "drive", "machine", "shunt", "reactor",
                                   "arrester", "fault", "event")}
    if kind == "host_drive":
        case["drive"].append(_drive(rng, "host", "host_bus", host_kv, mva * rng.uniform(0.8, 2.0)))
        _maybe(rng, 0.4, case["drive"][0], dc_link={"loss_pct": _pick(rng, 0.5, 3.0)})
    else:
        case["grid"].append({"name": "host", "node": "host_bus", "rated_kv": host_kv,
                             "short_circuit_mva": _pick(rng, 4.0 * mva, 60.0 * mva), "x_over_r": _pick(rng, 3.0, 30.0),
                             "earthed": bool(rng.random() < 0.7)})
    case["transformer"].append(_transformer(rng, "step_up", "host_bus", "head", mva * rng.uniform(1.0, 1.6), host_kv,
                                            level))
    start = "head"
    if rng.random() < 0.67:
        start = "cable_head"
        row = {"name": "feeder", "from": "head", "to": start, "closed": bool(rng.random() < 0.8)}
        _maybe(rng, 0.2, row, insertion_ohm=_pick(rng, 20.0, 400.0), insertion_ms=_pick(rng, 5.0, 30.0))
        _maybe(rng, 0.2, row, closing_delays_ms=[0.0, _between(rng, 0.5, 4.0), 2.0])
        _maybe(rng, 0.15, row, recovery_rise_kv_per_ms=_pick(rng, 0.3 * level, 5.0 * level))
        case["breaker"].append(row)
        if not row["closed"]:
            _order(rng, case, "close", "feeder", 0.05, 0.2)
    length = _pick(rng, 0.1, 300.0) if level > 30.0 else _pick(rng, 0.1, 60.0)
    case["cable"].append(_cable(rng, "feeder_cable", start, "end", length))


def _transformer(rng, name, start, end, mva, from_kv, to_kv):
    row = {"name": name, "from": start, "to": end, "rated_mva": float(f"{mva:.4g}"), "from_kv": from_kv,
           "to_kv": to_kv, "vector_group": str(rng.choice(GROUPS)), "tap_pct": float(rng.choice((-5.0, 0.0, 2.5)))}
    _maybe(rng, 0.4, row, impedance_pct=_pick(rng, 4.0, 16.0))
    _maybe(rng, 0.3, row, knee_pu=_between(rng, 1.05, 1.4))
    _maybe(rng, 0.2, row, core="bank")
    return row


def _cable(rng, name, start, end, length):
    row = {"name": name, "from": start, "to": end, "length_km": float(f"{length:.4g}")}
    if rng.random() < 0.5:
        return row | {"conductor_mm2": float(rng.choice((35.0, 95.0, 240.0, 400.0)))}
    return row | {"resistance_ohm_per_km": _pick(rng, 0.05, 0.6), "inductance_mh_per_km": _pick(rng, 0.3, 0.5),
                  "capacitance_uf_per_km": _pick(rng, 0.12, 0.35)}


def _drive(rng, name, node, kv, mva):
    row = {"name": name, "node": node, "rated_kv": kv, "rated_kva": float(f"{1e3 * mva:.4g}"),
           "start_hz": _pick(rng, 0.5, 10.0), "hold_s": float(rng.choice((0.0, 0.1, 0.3))),
           "ramp_hz_per_s": _pick(rng, 2.0, 60.0), "voltage_rise_s": float(rng.choice((0.05, 0.1, 0.3)))}
    _maybe(rng, 0.3, row, boost_pct=_pick(rng, 1.0, 15.0))
    _maybe(rng, 0.3, row, ramp_smoothing_s=_pick(rng, 0.05, 0.5))
    _maybe(rng, 0.2, row, compensated_ohm=float(f"{rng.uniform(0.0, 0.03) * kv**2 / mva:.3g}"))
    _maybe(rng, 0.2, row, slip_compensation_hz=_pick(rng, 0.1, 1.0))
    _maybe(rng, 0.2, row, limit_action="bend")
    _maybe(rng, 0.2, row, overcurrent_trip_pct=_pick(rng, 130.0, 400.0))
    _maybe(rng, 0.2, row, overload_pct=[110.0, 150.0], overload_s=[60.0, 2.0])
    _maybe(rng, 0.2, row, catch_spinning=True, catch_hz_per_s=_pick(rng, 10.0, 200.0))
    _maybe(rng, 0.3, row, restart_delay_s=_pick(rng, 0.05, 0.5))
    _maybe(rng, 0.2, row, stall_s=_pick(rng, 0.05, 1.0))
    _maybe(rng, 0.25, row, pulses={"bridge": str(rng.choice(("two_level", "three_level", "cells"))),
                                   "carrier_hz": float(rng.choice((500.0, 1000.0, 2000.0)))})
    return row


def _add_far_drive(rng, case, kind, k, mva, low):
    """A drive whose front end stands at the seabed's bus, with its motor behind a jumper, a transformer or nothing."""
    kv = float(rng.choice(MOTOR_LEVELS))
    row = _drive(rng, f"far_{k}", f"out_{k}", kv, mva * rng.uniform(0.9, 1.6))
    rectifier = kind == "far_rectifier" or (kind == "far_mixed" and rng.random() < 0.5)
    front = {"node": "bus", "kind": "rectifier" if rectifier else "active"}
    if rectifier:
        _maybe(rng, 0.5, front, pulses=int(rng.choice((6, 12, 18, 24))))
    else:
        _maybe(rng, 0.3, front, power_factor=_between(rng, 0.85, 1.0), leading=bool(rng.random() < 0.5))
        _maybe(rng, 0.3, front, control_hz=_pick(rng, 4.0, 40.0))
        _maybe(rng, 0.2, front, current_ms=_pick(rng, 0.5, 5.0))
    _maybe(rng, 0.4, front, reactance_pct=_pick(rng, 4.0, 30.0))
    _maybe(rng, 0.3, front, charged=False, charging_resistance_pct=_pick(rng, 50.0, 500.0))
    row["front_end"] = front
    link = {}
    _maybe(rng, 0.3, link, loss_pct=_pick(rng, 0.2, 4.0))
    _maybe(rng, 0.2, link, ride_through_pct=_between(rng, 75.0, 95.0))
    _maybe(rng, 0.2, link, undervoltage_trip_pct=_between(rng, 30.0, 80.0))
    if link:
        row["dc_link"] = link
    case["drive"].append(row)
    at = f"out_{k}"
    if rng.random() < 0.4:
        case["cable"].append(_cable(rng, f"jumper_{k}", at, f"jumper_end_{k}", _pick(rng, 0.1, 5.0)))
        at = f"jumper_end_{k}"
    if rng.random() < 0.3:
        motor_kv = float(rng.choice(MOTOR_LEVELS))
        case["transformer"].append(_transformer(rng, f"unit_{k}", at, f"unit_end_{k}", 1.3 * mva, kv, motor_kv))
        at, kv = f"unit_end_{k}", motor_kv
    if rng.random() < 0.85:
        case["machine"].append(_machine(rng, f"motor_{k}", at, kv, mva))
    if row["front_end"].get("charged") is False or rng.random() < 0.4:
        _order(rng, case, "start", row["name"], 0.05, 0.4)
    if rng.random() < 0.3:
        _order(rng, case, str(rng.choice(("stop", "ramp_down"))), row["name"], 0.5, 1.0)
    elif rng.random() < 0.3:
        _order(rng, case, "speed", row["name"], 0.5, 1.0, to_hz=_pick(rng, 10.0, 50.0))


def _machine(rng, name, node, kv, mva):
    kind = str(rng.choice(("pump", "compressor", "none")))
    row = {"name": name, "node": node,
           "motor": {"rated_kw": float(f"{1e3 * mva * rng.uniform(0.5, 0.85):.4g}"), "rated_kv": kv,
                     "poles": int(rng.choice((2, 4, 6)))},
           "load": {"kind": kind}}
    if kind != "none":
        _maybe(rng, 0.4, row["load"], breakaway_pct=_pick(rng, 2.0, 60.0))
        _maybe(rng, 0.3, row["load"], load_pct=_pick(rng, 20.0, 120.0))
    _maybe(rng, 0.2, row, shaft={"length_m": _pick(rng, 0.5, 20.0), "diameter_mm": _pick(rng, 60.0, 300.0)})
    return row


def _add_consumer(rng, case, kind, k, mva, low):
    far = kind.startswith("far")
    if far and (k == 0 or rng.random() < 0.6):
        _add_far_drive(rng, case, kind, k, mva, low)
    elif k > 0 and rng.random() < 0.3:
        ohm = low**2 / mva
        row = {"name": f"heating_{k}", "node": "bus", "resistance_ohm": float(f"{ohm:.4g}"), "earthed": False}
        _maybe(rng, 0.4, row, inductance_mh=float(f"{2e3 * ohm / 314.0:.4g}"))
        case["shunt"].append(row)
    elif kind == "host_drive":
        case["machine"].append(_machine(rng, f"direct_{k}", "bus", low, mva))
    else:
        row = {"name": f"starter_{k}", "from": "bus", "to": f"terminals_{k}", "closed": False}
        _maybe(rng, 0.2, row, soft_start={"ramp_s": _pick(rng, 0.2, 2.0)})
        _maybe(rng, 0.2, row, chopping_a=_pick(rng, 0.5, 8.0))
        case["breaker"].append(row)
        case["machine"].append(_machine(rng, f"direct_{k}", f"terminals_{k}", low, mva))
        _order(rng, case, "close", row["name"], 0.05, 0.5)
        if rng.random() < 0.3:
            _order(rng, case, "open", row["name"], 0.6, 1.0)


def _order(rng, case, action, target, first, last, **more):
    """An order at a share of the duration between two."""
    at = case["study"][0]["duration_s"] * rng.uniform(first, last)
    case["event"].append({"at_s": float(f"{at:.4g}"), "action": action, "target": target} | more)


def _add_extras(rng, case, mva, level, low):
    """Reactors, arresters, filters, a fault, and the feeder that opens and comes back."""
    if rng.random() < 0.3:
        row = {"name": "compensation", "node": str(rng.choice(("end", "head"))),
               "rated_mvar": _pick(rng, 0.1 * mva, 0.5 * mva)}
        _maybe(rng, 0.4, row, knee_pu=_between(rng, 1.1, 1.4))
        case["reactor"].append(row)
    for node, kv in (("end", level), ("bus", low)):
        if rng.random() < 0.3:
            case["arrester"].append({"name": f"arrester_{node}", "node": node, "rated_kv": float(f"{0.8 * kv:.3g}")})
    if rng.random() < 0.2:
        ohm = low**2 / (0.2 * mva)
        case["shunt"].append({"name": "filter", "node": "bus", "connection": "series", "earthed": False,
                              "resistance_ohm": float(f"{0.05 * ohm:.3g}"),
                              "inductance_mh": float(f"{1e3 * ohm / (314.0 * 25.0):.3g}"),
                              "capacitance_uf": float(f"{1e6 / (314.0 * ohm):.3g}")})
    if rng.random() < 0.4:
        _add_fault(rng, case)
    if case["breaker"] and case["breaker"][0]["name"] == "feeder" and case["breaker"][0]["closed"]:
        if rng.random() < 0.4:
            _order(rng, case, "open", "feeder", 0.2, 0.5)
            if rng.random() < 0.6:
                _order(rng, case, "close", "feeder", 0.55, 0.95)


def _add_fault(rng, case):
    duration = case["study"][0]["duration_s"]
    at = duration * rng.uniform(0.1, 0.8)
    row = {"name": "short", "at_s": float(f"{at:.4g}"), "phases": str(rng.choice(("a", "ab", "bc", "abc"))),
           "node": str(rng.choice(("head", "end", "bus"))), "earth": bool(rng.random() < 0.7)}
    if row["phases"] == "a":
        row["earth"] = True
    _maybe(rng, 0.3, row, resistance_ohm=_pick(rng, 0.1, 20.0))
    _maybe(rng, 0.8, row, clear_s=float(f"{at + rng.uniform(0.05, 0.3):.4g}"))
    case["fault"].append(row)


def _add_study(rng, case):
    """A bandwidth that the longest cable allows, and the settings of the solver."""
    study, longest = case["study"][0], max(row["length_km"] for row in case["cable"])
    bands = [band for band in BANDS_KHZ if band * longest <= MOST_KM_KHZ] or [0.5]
    study["bandwidth_khz"] = float(rng.choice(bands))
    _maybe(rng, 0.2, study, engine="waveform")
