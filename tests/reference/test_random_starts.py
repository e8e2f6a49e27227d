"""The random starts are what they say: repeatable, valid, of every kind of supply, load and connection."""

from reference.random_starts import KINDS, random_start
from sim.case import parse_case

CASES = [parse_case(random_start(seed)) for seed in range(60)]


def test_the_same_seed_gives_the_same_start():
    assert random_start(17) == random_start(17) != random_start(18)


def test_kinds_of_supply_take_turns():
    for seed, case in enumerate(CASES):
        assert bool(case.drives) == (KINDS[seed % 3] == "drive")
        assert bool(case.drives) != bool(case.grids)
        reduced = bool(case.series_reactors) or any(grid.voltage_pu < 0.93 for grid in case.grids)
        assert reduced == (KINDS[seed % 3] == "reduced")


def test_every_load_occurs_behind_cable_and_transformer():
    assert {case.machines[0].load.kind for case in CASES} == {"pump", "compressor", "table", "none"}
    assert {case.machines[0].motor.frequency_hz for case in CASES} == {50.0, 60.0}
    assert all(case.cables and case.transformers for case in CASES)
