"""Driven machines and shafts: curves from duty points, inertias, and shafts that twist."""

import numpy as np
import pytest

from sim.errors import CaseError

from ..sample import MACHINE, make, parse


def with_machine(load=None, shaft=None, motor=None):
    data = MACHINE | {"load": load or {"kind": "pump"}, "motor": MACHINE["motor"] | (motor or {})}
    if shaft is not None:
        data["shaft"] = shaft
    return parse(make(machine=[data]))


def test_plain_pump_keeps_the_law_of_its_kind():
    load = with_machine({"kind": "pump"}).machines[0].load
    assert load.kind == "pump" and load.speed_pu == []


@pytest.mark.parametrize("load, at_duty", [
    ({"kind": "pump", "discharge": "closed", "closed_pct": 45.0}, 0.45),     # all there is without flow
    ({"kind": "pump", "static_lift_pct": 40.0}, 1.0),
    ({"kind": "compressor", "settle_out_pct": 30.0}, 1.0)])
def test_other_starts_become_a_table(load, at_duty):
    found = with_machine(load).machines[0].load
    assert found.kind == "table" and found.speed_pu[0] == 0.0
    assert np.interp(1.0, found.speed_pu, found.torque_pu) == pytest.approx(at_duty, rel=1e-3)
    assert found.breakaway_pu == pytest.approx(found.torque_pu[0])


def test_breakaway_by_service():
    case = with_machine({"kind": "pump", "service": "long_idle"})
    assert case.machines[0].load.breakaway_pu == pytest.approx(0.3)          # common practice, 30 to 60 %
    entry = case.used["booster.load.breakaway_pct"]
    assert (entry["origin"], entry["grade"]) == ("default", "D") and "idle" in entry["basis"]


def test_inertia_of_the_whole_leaves_the_parts_alone():
    case = with_machine(shaft={"inertia_kgm2": 90.0})
    assert case.machines[0].shaft.inertia_kgm2 == 90.0
    assert "booster.load.inertia_kgm2" not in case.used and "booster.motor.inertia_kgm2" not in case.used


def test_inertia_from_its_parts():
    case = with_machine({"kind": "pump", "inertia_kgm2": 30.0}, shaft={}, motor={"inertia_kgm2": 50.0})
    assert case.machines[0].shaft.inertia_kgm2 == 80.0
    entry = case.used["booster.shaft.inertia_kgm2"]
    assert (entry["origin"], entry["grade"]) == ("derived", "C")
    guessed = with_machine({"kind": "pump"}, shaft={})
    assert guessed.used["booster.shaft.inertia_kgm2"]["grade"] == "D"
    assert guessed.machines[0].shaft.inertia_kgm2 > 0.0


def test_shaft_that_twists():
    """Stiffness of a solid shaft, G pi d^4/(32 l): 2 m of 150 mm with 80 GPa give 1.988 MN m/rad."""
    shaft = with_machine(shaft={"inertia_kgm2": 90.0, "length_m": 2.0, "diameter_mm": 150.0},
                         motor={"inertia_kgm2": 50.0}).machines[0].shaft
    assert shaft.stiffness_nm_per_rad == pytest.approx(80e9 * np.pi * 0.15**4 / 64.0)
    assert (shaft.motor_inertia_kgm2, shaft.load_inertia_kgm2) == (50.0, 40.0)
    reduced = 50.0 * 40.0 / 90.0
    assert shaft.damping_nms_per_rad == pytest.approx(0.02 * np.sqrt(shaft.stiffness_nm_per_rad * reduced))


@pytest.mark.parametrize("shaft, told", [
    ({"length_m": 2.0}, "booster.shaft.diameter_mm: missing"),
    ({"diameter_mm": 150.0}, "booster.shaft.length_m: missing"),
    ({"stiffness_knm_per_rad": 5.0, "length_m": 2.0, "diameter_mm": 150.0}, "follows from length_m and diameter_mm")])
def test_contradictions_of_a_shaft(shaft, told):
    with pytest.raises(CaseError, match=told):
        with_machine(shaft=shaft | {"inertia_kgm2": 90.0})
