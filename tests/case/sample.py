"""A small sound case as nested tables, and the way from tables to text."""

import copy
import json

import pytest

from sim.case import parse_case
from sim.components import KINDS
from sim.errors import CaseError

MACHINE = {
    "name": "booster", "node": "motor_terminals",
    "motor": {"rated_kw": 2000.0, "rated_kv": 6.6, "poles": 4,
              "circuit": {"stator_resistance_pu": 0.007, "stator_reactance_pu": 0.09,
                          "magnetising_reactance_pu": 3.3, "rotor_resistance_pu": 0.01,
                          "rotor_reactance_pu": 0.09}},
    "shaft": {"inertia_kgm2": 90.0},
    "load": {"kind": "pump"},
}
SAMPLE = {
    "title": "Sample",
    "study": {"duration_s": 10.0},
    "criteria": {"time_to_speed_max_s": 8.0},
    "node": [{"name": "subsea_bus", "um_kv": 7.2}],
    "grid": [{"name": "host_grid", "node": "host_bus", "rated_kv": 33.0, "short_circuit_mva": 500.0}],
    "transformer": [{"name": "subsea_transformer", "from": "cable_end", "to": "subsea_bus", "rated_mva": 5.0,
                     "from_kv": 33.0, "to_kv": 6.6, "impedance_pct": 8.0}],
    "cable": [{"name": "umbilical", "from": "cable_head", "to": "cable_end", "length_km": 28.0,
               "resistance_ohm_per_km": 0.25, "inductance_mh_per_km": 0.4, "capacitance_uf_per_km": 0.2}],
    "breaker": [{"name": "feeder_breaker", "from": "host_bus", "to": "cable_head", "closed": False},
                {"name": "motor_breaker", "from": "subsea_bus", "to": "motor_terminals"}],
    "shunt": [{"name": "reactor", "node": "cable_end", "inductance_mh": 900.0}],
    "machine": [MACHINE],
    "event": [{"at_s": 0.5, "action": "close", "target": "feeder_breaker"},
              {"at_s": 5.0, "action": "load", "target": "booster", "load_pct": 80.0}],
}
SWITCHING = {
    "shots": {"breaker": "feeder_breaker"},
    "series_reactor": [{"name": "start_coil", "from": "subsea_bus", "to": "coil_end", "reactance_ohm": 1.5}],
    "series_capacitor": [{"name": "line_bank", "from": "host_bus", "to": "bank_end", "reactance_ohm": 2.0}],
    "autotransformer": [{"name": "starter", "from": "subsea_bus", "to": "tap_end", "rated_mva": 2.0}],
    "reactor": [{"name": "compensator", "node": "cable_end", "rated_mvar": 2.0}],
    "arrester": [{"name": "bus_arrester", "node": "subsea_bus", "rated_kv": 9.0}],
    "fault": [{"name": "short", "cable": "umbilical", "at_km": 10.0, "at_s": 2.0, "phases": "a"}],
}
DRIVE = {"name": "host_drive", "node": "host_bus", "rated_kv": 33.0, "rated_kva": 3000.0}


def make(**changes):
    """Copy of the sample with top-level tables replaced; None removes one."""
    data = copy.deepcopy(SAMPLE) | copy.deepcopy(changes)
    return {key: value for key, value in data.items() if value is not None}


def make_driven(**changes):
    """Copy of the sample with a drive at the host in place of the grid."""
    return make(**({"grid": None, "drive": [DRIVE]} | changes))


def make_switched(**changes):
    """Copy of the sample with a reactor, an arrester, a fault along the cable and random closings."""
    return make(**(SWITCHING | changes))


def write(data):
    """TOML text of nested tables."""
    plain = {key: value for key, value in data.items() if key not in KINDS or not is_tables(value)}
    lines = write_lines(plain)
    for kind in [kind for kind in KINDS if kind in data and kind not in plain]:
        for item in data[kind]:
            lines += [f"[[{kind}]]", *write_lines(item)]
    return "\n".join(lines) + "\n"


def write_lines(table):
    return [f"{json.dumps(key)} = {write_value(value)}" for key, value in table.items()]


def is_tables(value):
    return isinstance(value, list) and all(isinstance(item, dict) for item in value)


def write_value(value):
    """TOML text of one value; tables are written inline."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{json.dumps(key)} = {write_value(item)}" for key,
                               item in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(write_value, value)) + "]"
    if isinstance(value, float):
        return repr(value)
    return json.dumps(value)


def parse(data, *overrides):
    return parse_case(write(data), overrides)


def find_mistakes(data, *overrides):
    """All mistakes of a case that must have some."""
    with pytest.raises(CaseError) as caught:
        parse(data, *overrides)
    return caught.value.mistakes


def find_mistake(data, *overrides):
    """The mistake of a case that must have exactly one."""
    mistakes = find_mistakes(data, *overrides)
    assert len(mistakes) == 1, mistakes
    return mistakes[0]
