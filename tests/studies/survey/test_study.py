"""The survey as a whole, and the transformers."""

import json
from pathlib import Path

import numpy as np
import pytest

from sim.case import load_case
from sim.studies.survey.study import clean, survey
from studies.arrangements import CABLES, cable, drive, grid, make, motor, transformer

CASES = Path(__file__).parents[3] / "cases"


@pytest.fixture(scope="module", params=["quillfen", "morrowgate"])
def surveyed(request):
    case = load_case(CASES / f"{request.param}.toml")
    return case, survey(case)


def test_plain_numbers_only(surveyed):
    _, found = surveyed
    again = json.loads(json.dumps(found, allow_nan=False))
    assert again == found
    kinds = {type(value) for group in found.values() for entry in group.values() for value in entry.values()}
    assert kinds <= {float, str, type(None)}


def test_every_component_is_there(surveyed):
    case, found = surveyed
    names = {group: [record.name for record in getattr(case, group)] for group in ("cables", "transformers", "machines",
                                                                                   "nodes")}
    assert {group: list(entries) for group, entries in found.items()} == names | {
        "islands": [source.name for source in (*case.grids, *case.drives)]}


def test_case_without_cables_and_machines():
    found = survey(make(grid(), transformer("bus", "low", 33.0, 6.6)))
    assert found["cables"] == found["machines"] == {}
    island = found["islands"]["host"]
    assert island["first_resonance_hz"] is None and island["first_resonance_with_motors_hz"] is None
    assert island["charging_mvar"] == 0.0


def test_what_is_not_finite_is_not_said():
    assert clean({"a": float("inf"), "b": float("nan"), "c": 2.0, "d": None, "e": "x"}) == {
        "a": None, "b": None, "c": 2.0, "d": None, "e": "x"}


def test_transformer_by_hand():
    """33/6.6 kV, 4 MVA, 8 %: 70.0 and 349.9 A, 21.78 and 0.8712 ohm; 0.5 % and 0.3 %: 0.4 % magnetising."""
    entry = survey(make(grid(), transformer("bus", "low", 33.0, 6.6, no_load_current_pct=0.5,
                                            no_load_loss_pct=0.3)))["transformers"]["unit"]
    assert entry["rated_current_from_a"] == pytest.approx(4e6 / (3.0**0.5 * 33e3), rel=1e-12)
    assert entry["rated_current_to_a"] == pytest.approx(5.0 * entry["rated_current_from_a"], rel=1e-12)
    assert entry["short_circuit_impedance_from_ohm"] == pytest.approx(21.78, rel=1e-12)
    assert entry["short_circuit_impedance_to_ohm"] == pytest.approx(0.8712, rel=1e-12)
    assert entry["no_load_mvar"] == pytest.approx(0.016, rel=1e-12)
    assert entry["no_load_loss_kw"] == pytest.approx(12.0, rel=1e-12)


def test_survey_of_a_drive_does_not_depend_on_the_frequency_of_the_host():
    """Cable, motor and island of an 80 Hz drive behind a front end at a host of 50 and of 80 Hz; charging by hand, w C
    V^2 at 80 Hz."""
    found = [survey(make(grid(node="host_bus", kv=3.3, mva=100.0, frequency_hz=hz),
                         drive(frequency_hz=80.0, front_end={"node": "host_bus"}), cable(km=5.0),
                         motor("tail", kv=3.3, frequency_hz=80.0))) for hz in (50.0, 80.0)]
    for group, name in (("cables", "feeder"), ("machines", "pump"), ("islands", "inverter"), ("nodes", "tail")):
        assert found[0][group][name] == found[1][group][name]
    assert found[0]["islands"]["inverter"]["frequency_hz"] == pytest.approx(80.0, rel=1e-12)
    farads = 5.0 * CABLES[95][2] * 1e-6
    assert found[0]["islands"]["inverter"]["charging_mvar"] == pytest.approx(
        2.0 * np.pi * 80.0 * farads * 3300.0**2 / 1e6, rel=1e-9)


def test_an_idle_front_end_takes_nothing_at_no_load():
    """The host stands at the voltage behind its impedance, its fault level is the grid's own."""
    found = survey(make(grid(node="host_bus", kv=3.3, mva=100.0), drive(front_end={"node": "host_bus"}),
                        cable(km=5.0), motor("host_bus", kv=3.3)))
    assert found["nodes"]["host_bus"]["no_load_pu"] == pytest.approx(1.0, rel=1e-6)
    assert found["machines"]["pump"]["fault_level_mva"] == pytest.approx(100.0, rel=1e-6)
