"""Column numbers: no two meanings share a column of one table, and every table is as wide as its last one."""

import pytest

from sim.kernels import columns as c

TABLES = {
    ("DRIVE_", "LINK_", "FRONT_"): c.DRIVE_COLUMNS, ("DRIVE_SAMPLE_",): c.DRIVE_SAMPLES, ("X_",): c.DRIVE_STATES,
    ("S_",): c.DRIVE_SCALARS, ("PULSE_",): c.PULSE_COLUMNS, ("SHAFT_",): c.SHAFT_STATES,
    ("SHAFT_SAMPLE_",): c.SHAFT_SAMPLES, ("LOAD_",): c.LOAD_COLUMNS, ("TRAIN_",): 3, ("ENERGY_",): c.ENERGY_STEPS + 1,
    ("PEAK_",): c.PEAK_COLUMNS, ("CONTROL_",): c.CONTROL_COLUMNS, ("WORK_",): c.WORK_COLUMNS}
KINDS = {("LOAD_NONE", "LOAD_PUMP", "LOAD_COMPRESSOR", "LOAD_TABLE"), ("SOURCE_GRID", "SOURCE_DRIVE"),
         ("MONITOR_DRIVE", "MONITOR_FRONT", "MONITOR_CORE"), ("NOTHING_TO_TELL", "CORE_BEYOND")}
WIDTHS = {"DRIVE_COLUMNS", "DRIVE_STATES", "DRIVE_SAMPLES", "DRIVE_SCALARS", "PULSE_COLUMNS", "SHAFT_STATES",
          "SHAFT_SAMPLES", "LOAD_COLUMNS", "PEAK_COLUMNS", "CONTROL_COLUMNS", "WORK_COLUMNS", "STRETCHES", "OVERLOADS",
          "WINDINGS", "KNEES"}
NO_COLUMN = WIDTHS.union(*KINDS)


def belongs(name, prefixes):
    """Whether a name is a column of the table with these prefixes: the longest prefix that fits decides."""
    fitting = [prefix for group in TABLES for prefix in group if name.startswith(prefix)]
    return name not in NO_COLUMN and max(fitting, key=len, default="") in prefixes


def list_columns(prefixes):
    """(first, width) of every column or run of columns of a table."""
    wide = {"DRIVE_STRETCH": 2 * c.STRETCHES, "DRIVE_OVERLOAD": 2 * c.OVERLOADS}
    return sorted((number, wide.get(name, 1)) for name, number in vars(c).items() if belongs(name, prefixes))


@pytest.mark.parametrize("prefixes", TABLES, ids=" ".join)
def test_columns_follow_each_other_without_gap_or_overlap(prefixes):
    following = 0
    for first, width in list_columns(prefixes):
        assert first == following
        following = first + width
    assert following == TABLES[prefixes]


def test_every_name_is_a_column_a_width_or_a_kind():
    names = {name for name in vars(c) if name.isupper()}
    assert names == NO_COLUMN | {name for name in names if any(belongs(name, prefixes) for prefixes in TABLES)}


@pytest.mark.parametrize("kinds", sorted(KINDS), ids=" ".join)
def test_kinds_of_one_table_differ(kinds):
    assert sorted(getattr(c, kind) for kind in kinds) == list(range(len(kinds)))
