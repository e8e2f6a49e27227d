"""Small arrangements as case text, with what a survey needs and nothing else."""

from cross.casefile import make_case

# 36 kV three-core cables by cross-section [mm2]: ohm/km at 90 degC, mH/km, uF/km; computed from the geometry with
# 8 mm of insulation (IEC 60502-2) and the resistances of IEC 60228, both from memory, to be checked
CABLES = {95: (0.246, 0.41, 0.18), 240: (0.096, 0.36, 0.24)}
# the same for 145 kV, 500 mm2
HIGH = (0.047, 0.38, 0.18)
LOSSLESS = 1e-6         # lowest resistance a case accepts [ohm/km]


def grid(node="bus", kv=33.0, mva=500.0, **more):
    return "grid", {"name": "host", "node": node, "rated_kv": kv, "short_circuit_mva": mva, **more}


def drive(node="bus", kv=3.3, kva=2900.0, **more):
    return "drive", {"name": "inverter", "node": node, "rated_kv": kv, "rated_kva": kva, **more}


def cable(start="bus", end="tail", km=28.0, constants=CABLES[95], name="feeder", **more):
    r, inductance, c = constants
    return "cable", {"name": name, "from": start, "to": end, "length_km": km, "resistance_ohm_per_km": r,
                     "inductance_mh_per_km": inductance, "capacitance_uf_per_km": c, **more}


def transformer(start, end, from_kv, to_kv, mva=4.0, name="unit", **more):
    return "transformer", {"name": name, "from": start, "to": end, "rated_mva": mva, "from_kv": from_kv,
                           "to_kv": to_kv, "impedance_pct": 8.0, "x_over_r": 15.0, "no_load_current_pct": 0.5,
                           "no_load_loss_pct": 0.1, "vector_group": "Dyn11", **more}


def breaker(start, end, name="gear", **more):
    return "breaker", {"name": name, "from": start, "to": end, **more}


def motor(node, kv=6.6, kw=1200.0, name="pump", circuit=None, inertia=20.0, **more):
    values = circuit or {"stator_resistance_pu": 0.007, "stator_reactance_pu": 0.09, "magnetising_reactance_pu": 3.2,
                         "rotor_resistance_pu": 0.01, "rotor_reactance_pu": 0.09}
    rating = {"rated_kw": kw, "rated_kv": kv, "poles": 4, "efficiency_pu": 0.95, "power_factor_pu": 0.88, **more}
    return "machine", {"name": name, "node": node, "motor": rating | {"circuit": values},
                       "shaft": {"inertia_kgm2": inertia}, "load": {"kind": "none"}}


def node(name, **more):
    return "node", {"name": name, **more}


def split(entry):
    """Numbers of an entry, and everything else in it."""
    numbers = {key: value for key, value in entry.items() if isinstance(value, float)}
    return numbers, {key: value for key, value in entry.items() if key not in numbers}


def make(*tables, **study):
    return make_case({"duration_s": 1.0, **study}, *tables)
