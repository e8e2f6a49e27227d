"""Column numbers: no two meanings share a column of one table, and every table is as wide as its last one."""

import pytest

from sim.kernels import columns as c

TABLES = {
    ("DRIVE_", "LINK_", "FRONT_"): c.DRIVE_COLUMNS, ("X_",): c.DRIVE_STATES, ("S_",): c.DRIVE_SCALARS,
    ("PULSE_",): c.PULSE_COLUMNS, ("SHAFT_",): c.SHAFT_STATES, ("LOAD_",): c.LOAD_COLUMNS, ("TRAIN_",): 3}
NO_COLUMN = {"DRIVE_COLUMNS", "DRIVE_STATES", "DRIVE_SAMPLES", "DRIVE_SCALARS", "PULSE_COLUMNS", "FRONT_FIRST",
             "SHAFT_STATES", "SHAFT_SAMPLES", "LOAD_COLUMNS", "LOAD_NONE", "LOAD_PUMP", "LOAD_COMPRESSOR", "LOAD_TABLE"}


def list_columns(prefixes):
    """(first, width) of every column or run of columns of a table."""
    wide = {"DRIVE_STRETCH": 2 * c.STRETCHES, "DRIVE_OVERLOAD": 2 * c.OVERLOADS}
    return sorted((number, wide.get(name, 1)) for name, number in vars(c).items()
                  if name.startswith(prefixes) and name not in NO_COLUMN)


@pytest.mark.parametrize("prefixes", TABLES, ids=" ".join)
def test_columns_follow_each_other_without_gap_or_overlap(prefixes):
    following = 0
    for first, width in list_columns(prefixes):
        assert first == following
        following = first + width
    assert following == TABLES[prefixes]


def test_kinds_of_load_differ():
    assert len({c.LOAD_NONE, c.LOAD_PUMP, c.LOAD_COMPRESSOR, c.LOAD_TABLE}) == 4
