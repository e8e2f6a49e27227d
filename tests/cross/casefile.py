"""Case files written from tables, and signals of a run brought onto one time axis."""

import numpy as np

from sim.case import parse_case

CIRCUIT = ("stator_resistance", "stator_reactance", "magnetising_reactance", "rotor_resistance", "rotor_reactance",
           "second_rotor_resistance", "second_rotor_reactance")


def write_value(value):
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return f'"{value}"'
    if isinstance(value, list):
        return "[" + ", ".join(write_value(each) for each in value) + "]"
    return repr(float(value)) if isinstance(value, (float, np.floating)) else str(value)


def write_table(head, values):
    lines = [head] + [f"{key} = {write_value(value)}" for key, value in values.items() if not isinstance(value, dict)]
    nested = [write_table(f"[{head.strip('[]')}.{key}]", value) for key, value in values.items()
              if isinstance(value, dict)]
    return "\n".join(lines + nested)


def write_case(study, *tables):
    """TOML text of a case; `tables` are (kind, values) pairs, written in their order.

    The references are linear: iron saturates only where a table says at which flux.
    """
    parts = ['title = "cross check"', write_table("[study]", study)]
    parts += [write_table(f"[[{kind}]]", keep_linear(kind, values)) for kind, values in tables]
    return "\n\n".join(parts) + "\n"


def keep_linear(kind, values):
    """Tables of iron with a knee that no flux of these cases reaches, unless they have one, and without losses that
    rise with frequency."""
    lossless = {"high_frequency_quality": 1e9}
    if kind == "transformer":
        return {"knee_pu": 3.0} | lossless | values
    if kind in ("reactor", "series_reactor"):
        return lossless | values
    if kind != "machine":
        return values
    straight = {} if "no_load_voltage_pct" in values["motor"] else {"knee_pu": 3.0}
    return values | {"motor": straight | lossless | values["motor"]}


def make_case(study, *tables):
    return parse_case(write_case(study, *tables), name="cross")


def machine_table(name, node, circuit, inertia, load, **motor):
    """A [[machine]]; `circuit` holds the values [ohm] in the order of `CIRCUIT`."""
    ohms = {f"{part}_ohm": float(value) for part, value in zip(CIRCUIT, circuit)}
    return ("machine", {"name": name, "node": node, "motor": motor | {"circuit": ohms},
                        "shaft": {"inertia_kgm2": float(inertia)}, "load": load})


def join_signal(result, component, quantity):
    """Time [s] and values of one signal over all stretches; a moment that two stretches share comes once."""
    pieces = [(s.t, s.signals[component][quantity]) for s in result.stretches]
    t, values = (np.concatenate(column) for column in zip(*pieces))
    fresh = np.concatenate([[True], np.diff(t) > 0.0])
    return t[fresh], values[fresh]
