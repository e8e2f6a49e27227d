"""Every value of the case file is declared whole: a description, a range, and a default with its basis."""

from typing import get_args

import pytest

from sim.components import KINDS, SINGLE
from sim.components.fields import NO_BASIS, Table, find_basis
from sim.units import find_symbol


def list_declared(table):
    """(table, name, field) of every value of a table and the tables within."""
    for name, field in table.model_fields.items():
        inner = field.annotation
        optional = [one for one in get_args(inner) if isinstance(one, type) and issubclass(one, Table)]
        if isinstance(inner, type) and issubclass(inner, Table):
            yield from list_declared(inner)
        elif optional:
            yield from list_declared(optional[0])
        else:
            yield table, name, field


DECLARED = [entry for table in (SINGLE | KINDS).values() for entry in list_declared(table)]
NUMBERS = [entry for entry in DECLARED if entry[2].annotation in (float, int, float | None)]
LIMITS = {"time_to_speed_max_s", "start_flux_max_pu"}
OPEN_ENDED = {"um_kv", "lightning_withstand_kv", "ampacity_a", "rated_kv", "resistance_ohm", "inductance_mh",
              "capacitance_uf", "to_hz", "load_pct", "speed_pct", "torque_pct"}


PLAIN = {"x_over_r", "x0_over_x1", "poles", "breakaway_ratio_min", "permittivity", "quality",
         "high_frequency_quality", "seed",
         "missing_zero_cycles_max", "chatter_max_steps", "reignitions_max", "restarts", "power_factor", "pulses",
         "cells"}


def list_offenders(entries, holds):
    """Values of the case file that something does not hold for."""
    return [f"{table.__name__}.{name}" for table, name, field in entries if not holds(table, name, field)]


def has_description(table, name, field):
    return bool(field.description) and field.description[0].islower() and not field.description.endswith(".")


def has_range(table, name, field):
    low = [part for part in field.metadata if hasattr(part, "gt") or hasattr(part, "ge")]
    high = [part for part in field.metadata if hasattr(part, "lt") or hasattr(part, "le")]
    return len(low) == 1 and len(high) == 1


def has_unit(table, name, field):
    return bool(find_symbol(name)) or name in PLAIN


def has_basis(table, name, field):
    return (field.is_required() or find_basis(table, name) != NO_BASIS or name in OPEN_ENDED
            or table.__name__ == "Circuit")


def test_every_value_is_described():
    assert len(DECLARED) > 300 and list_offenders(DECLARED, has_description) == []


def test_numbers_have_a_range_on_both_sides():
    assert len(NUMBERS) > 200 and list_offenders(NUMBERS, has_range) == []


def test_units_are_in_the_names():
    assert list_offenders(NUMBERS, has_unit) == []


def test_defaults_have_a_basis():
    assert list_offenders(DECLARED, has_basis) == []


@pytest.mark.parametrize("kind", KINDS)
def test_tables_are_strict_and_fixed(kind):
    config = KINDS[kind].model_config
    assert config["extra"] == "forbid" and config["allow_inf_nan"] is False
    assert config["strict"] and config["frozen"]
