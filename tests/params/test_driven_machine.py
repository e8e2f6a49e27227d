"""Torque-speed tables against the laws they stand for, the kernel that reads them, and the affinity laws."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sim.kernels.columns import (
    LOAD_BREAKAWAY,
    LOAD_COLUMNS,
    LOAD_COMPRESSOR,
    LOAD_CONSTANT,
    LOAD_DIP,
    LOAD_DIP_SPEED,
    LOAD_DUTY,
    LOAD_KIND,
    LOAD_PUMP,
    LOAD_SPEED,
    LOAD_TABLE,
)
from sim.kernels.elements import machine as machine_kernels
from sim.params.driven_machine import (
    OPENING_SPEED,
    SERVICES,
    compressor_curve,
    estimate_breakaway,
    gas_density,
    pump_curve,
)

PUMP = dict(breakaway=0.3, dip=0.08, dip_speed=0.15)
EXACT = 1e-12           # the same algebra in another order: rounding only
CHORD = 1e-3            # what a straight line between two points may lack, the promise of the tables
SHARES = np.linspace(0.0, 1.2, 4001)


def read(table, share):
    return np.interp(share, table.speeds, table.torques)


def ask_kernel(kind, share, table=((), ()), **values):
    """Torque that the kernel of the machine makes of a row of load data, per unit of duty."""
    row = np.zeros(LOAD_COLUMNS)
    row[[LOAD_DUTY, LOAD_SPEED, LOAD_KIND]] = 1.0, 1.0, kind
    columns = {"breakaway": LOAD_BREAKAWAY, "dip": LOAD_DIP, "dip_speed": LOAD_DIP_SPEED, "constant": LOAD_CONSTANT}
    for key, value in values.items():
        row[columns[key]] = value
    speeds, torques = (np.array(part, dtype=float) for part in table)
    return np.array([machine_kernels.running_torque.py_func(x, 1.0, row, 0, len(speeds), speeds, torques)
                     for x in share])


@pytest.mark.parametrize("pump", [PUMP, dict(breakaway=0.15, dip=0.05, dip_speed=0.2),
                                  dict(breakaway=1.2, dip=0.1, dip_speed=0.1),
                                  dict(breakaway=0.05, dip=0.08, dip_speed=0.6)])
def test_open_pump_is_the_pump_law_of_the_kernel(pump):
    assert read(pump_curve(**pump), SHARES) == pytest.approx(ask_kernel(LOAD_PUMP, SHARES, **pump), abs=CHORD)


def test_kernel_reads_the_table_as_it_is():
    table = pump_curve(**PUMP, static_lift=0.5)
    got = ask_kernel(LOAD_TABLE, SHARES, table, breakaway=0.3)
    assert got == pytest.approx(read(table, SHARES), abs=EXACT)


def test_compressor_at_duty_density_is_the_compressor_law_of_the_kernel():
    law = ask_kernel(LOAD_COMPRESSOR, SHARES, constant=0.1, breakaway=0.4)
    assert read(compressor_curve(0.1, 0.4), SHARES) == pytest.approx(law, abs=CHORD)


@settings(max_examples=200, deadline=None)
@given(st.floats(0.0, 2.0), st.floats(0.02, 0.2), st.floats(0.02, 0.5), st.sampled_from(["open", "closed"]),
       st.floats(0.0, 1.0), st.floats(0.25, 0.9), st.floats(1.05, 1.6))
def test_pump_tables_are_sound(breakaway, dip, dip_speed, discharge, lift, closed, shut_off):
    """Whatever the data: ascending speeds 0 to 1.2, duty met exactly, falling to the dip and rising after it."""
    table = pump_curve(breakaway, dip, dip_speed, discharge, lift, closed, shut_off)
    assert table.speeds[0] == 0.0 and table.speeds[-1] == 1.2
    assert all(after - before > 1e-7 for before, after in pairwise(table.speeds))
    assert 25 <= len(table.speeds) == len(table.torques) <= 60
    assert table.torques[0] == pytest.approx(breakaway, abs=EXACT)
    assert table.torques[table.speeds.index(dip_speed)] == pytest.approx(dip, abs=EXACT)
    duty = 1.0 if discharge == "open" else closed
    assert table.torques[table.speeds.index(1.0)] == pytest.approx(duty, abs=EXACT)
    after = [torque for speed, torque in zip(*table) if speed >= dip_speed]
    assert all(later > earlier for earlier, later in pairwise(after))


def test_no_flow_means_the_closed_curve():
    """Half the head is static and shut-off head is 1.2: flow from sqrt(0.5/1.2) = 0.6455 of speed, by hand."""
    closed, lifted = pump_curve(**PUMP, discharge="closed"), pump_curve(**PUMP, static_lift=0.5)
    still = SHARES[SHARES <= 0.6454]
    assert read(lifted, still) == pytest.approx(read(closed, still), abs=2 * CHORD)
    assert read(lifted, 0.66) > read(closed, 0.66) + 0.03
    assert read(closed, 1.0) == pytest.approx(0.4, abs=EXACT)          # 30 to 50 % of duty, common practice


def test_flow_follows_pump_and_system_curve():
    """At 0.8 of speed: 1.2 * 0.64 - 0.2 q2 = 0.5 + 0.5 q2 gives q2 = 0.268/0.7, q = 0.61875, by hand.

    Torque: u = (0.64 - 0.0225)/0.9775 = 0.631714; 0.08 + 0.32 u + 0.6 * 0.8 * 0.61875 = 0.579148.
    """
    assert read(pump_curve(**PUMP, static_lift=0.5), 0.8) == pytest.approx(0.579148, abs=2 * CHORD)


def test_torque_has_no_jump_where_the_flow_sets_in():
    """Just beside the onset the torque differs by 0.6 n q with q = sqrt(1.2/0.7 * 2 n dn) of the root law."""
    table, n, dn = pump_curve(**PUMP, static_lift=0.5), np.sqrt(0.5 / 1.2), 1e-6
    rise = 0.6 * n * np.sqrt(1.2 / 0.7 * 2.0 * n * dn)
    assert 0.0 < read(table, n + dn) - read(table, n - dn) < rise


def test_less_static_lift_tends_to_none():
    none = read(pump_curve(**PUMP), SHARES)
    assert read(pump_curve(**PUMP, static_lift=1e-4), SHARES) == pytest.approx(none, abs=2 * CHORD)


def test_density_scales_what_is_hydraulic():
    """Constant part (0.08 - 0.0225)/0.9775 = 0.058824, by hand; the rest goes with density."""
    table = pump_curve(**PUMP, density=1.3)
    assert read(table, 1.0) == pytest.approx(0.058824 + 1.3 * 0.941176, abs=1e-6)
    assert read(table, 0.0) == pytest.approx(0.3, abs=EXACT)


def test_viscosity_scales_breakaway_and_friction():
    table = pump_curve(**PUMP, viscosity=3.0)
    assert read(table, 0.0) == pytest.approx(0.9, abs=EXACT)
    assert read(table, 1.0) == pytest.approx(3.0 * 0.058824 + 0.941176, abs=1e-6)


def test_factors_on_everything_scale_everything():
    plain, doubled = pump_curve(**PUMP, static_lift=0.4), pump_curve(**PUMP, static_lift=0.4, density=2, viscosity=2)
    assert doubled.torques == pytest.approx([2.0 * torque for torque in plain.torques], rel=EXACT)


@pytest.mark.parametrize("settle_out", [0.3, 1.0, 1.6])
def test_compressor_goes_from_settle_out_to_duty(settle_out):
    table = compressor_curve(0.1, 0.05, settle_out)
    assert read(table, 1.0) == pytest.approx(1.0, abs=EXACT)
    assert read(table, 0.5) == pytest.approx(0.1 + 0.9 * settle_out * 0.25, abs=CHORD)
    assert read(table, 1.2) == pytest.approx(0.1 + 0.9 * 1.44, abs=EXACT)
    assert all(after > before for before, after in pairwise(table.speeds)) and 25 <= len(table.speeds) <= 60


def test_torque_below_the_opening_is_that_of_thin_gas():
    """At 30 % density a compressor on recycle asks 0.1 + 0.9 * 0.3 * 0.49 = 23.2 % at 70 % speed, by hand."""
    assert read(compressor_curve(0.1, 0.05, 0.3), OPENING_SPEED) == pytest.approx(0.2323, abs=1e-6)


def test_density_returns_without_a_kink():
    """Slope of the smooth step 3 x^2 - 2 x^3 is zero at both ends."""
    step = 1e-6
    for n in (OPENING_SPEED, 1.0):
        slope = (gas_density(n + step, 0.3) - gas_density(n - step, 0.3)) / (2.0 * step)
        assert slope == pytest.approx(0.0, abs=1e-4)        # second derivative 47 over half a step
    assert gas_density(0.85, 0.3) == pytest.approx(0.65)    # half-way, by symmetry


@pytest.mark.parametrize("service, low, high", [
    ("clean", 0.15, 0.20), ("long_idle", 0.30, 0.60), ("sandy", 0.30, 0.60), ("waxy", 0.30, 0.60),
    ("viscous", 0.30, 0.60), ("magnetic_bearings", 0.05, 0.05), ("stuck", 1.0, 2.0)])
def test_breakaway_of_a_pump_lies_in_the_usual_range(service, low, high):
    """Ranges: common practice."""
    value, basis = estimate_breakaway("pump", service)
    assert low <= value <= high and "common practice" in basis


def test_both_kinds_know_the_same_words():
    assert SERVICES["pump"].keys() == SERVICES["compressor"].keys()
    assert estimate_breakaway("compressor", "clean").value == 0.05
    assert all(estimate_breakaway("compressor", word).value <= estimate_breakaway("pump", word).value
               for word in SERVICES["pump"])


@pytest.mark.parametrize("kind, service", [("pump", "rusty"), ("fan", "clean")])
def test_unknown_service_lists_the_known_ones(kind, service):
    with pytest.raises(ValueError, match=r"long_idle.*stuck"):
        estimate_breakaway(kind, service)


def test_all_mistakes_of_a_pump_are_told_at_once():
    with pytest.raises(ValueError) as told:
        pump_curve(-0.1, 1.0, 0.0, "ajar", 1.2, 0.0, 1.0, 0.0, 0.0)
    assert all(name in str(told.value) for name in (
        "breakaway", "dip", "dip_speed", "ajar", "static_lift", "closed_torque", "shut_off_head", "density",
        "viscosity"))


def test_compressor_out_of_range():
    with pytest.raises(ValueError, match="settle_out = 0"):
        compressor_curve(0.1, 0.05, 0.0)
