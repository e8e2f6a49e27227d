"""Motors from nameplates in the case file: what is filled in, fitted, refused, and how it is graded."""

import pytest

from sim.errors import CaseError

from ..sample import MACHINE, make, parse

PLATE = {"rated_kw": 2300.0, "rated_kv": 6.6, "poles": 4, "efficiency_pu": 0.955, "power_factor_pu": 0.89,
         "rated_rpm": 1486.0, "locked_rotor_current_pct": 550.0, "locked_rotor_torque_pct": 75.0,
         "breakdown_torque_pct": 220.0, "grade": "B"}


def with_plate(*left_out, **values):
    plate = {key: value for key, value in (PLATE | values).items() if key not in left_out}
    return parse(make(machine=[MACHINE | {"motor": plate}]))


def test_full_nameplate_is_met_and_keeps_its_grade():
    case = with_plate()
    motor = case.machines[0].motor
    assert motor.circuit.second_rotor_resistance_ohm > motor.circuit.rotor_resistance_ohm
    assert {figure.name for figure in motor.figures} >= {"rated current", "locked-rotor torque", "breakdown torque"}
    assert max(abs(figure.error_pct) for figure in motor.figures) < 0.5
    assert motor.outside_loss_w > 0.0
    error = case.used["booster.motor.fit_error_pct"]
    assert "breakdown torque" in error["basis"] and error["value"] < 0.5
    assert {case.used[f"booster.motor.{key}"]["grade"] for key in (
        "rated_current_a", "circuit.rotor_resistance_ohm", "outside_loss_kw")} == {"B"}


def test_without_locked_rotor_data_the_rotor_is_a_single_cage():
    motor = with_plate("locked_rotor_current_pct", "locked_rotor_torque_pct").machines[0].motor
    assert motor.circuit.second_rotor_resistance_ohm is None


def test_design_class_fills_in_what_is_missing():
    case = with_plate("locked_rotor_current_pct", "locked_rotor_torque_pct", "breakdown_torque_pct", design_class="N")
    assert case.machines[0].motor.circuit.second_rotor_resistance_ohm is not None
    entry = case.used["booster.motor.locked_rotor_torque_pct"]
    assert (entry["origin"], entry["grade"]) == ("default", "D") and "60034-12" in entry["basis"]
    assert case.used["booster.motor.circuit.rotor_resistance_ohm"]["grade"] == "D"


def test_code_letter_gives_the_locked_rotor_current():
    """Code letter E ends at 5.0 kVA/hp (NEMA MG 1): 5.0/0.7457 times efficiency and power factor."""
    case = with_plate("locked_rotor_current_pct", code_letter="E")
    expected = 100.0 * 5.0 / 0.745699872 * 0.955 * 0.89
    entry = case.used["booster.motor.locked_rotor_current_pct"]
    assert entry["value"] == pytest.approx(expected, rel=1e-4) and entry["grade"] == "B"
    estimated = with_plate("locked_rotor_current_pct", "efficiency_pu", code_letter="E")
    assert estimated.used["booster.motor.locked_rotor_current_pct"]["grade"] == "D"      # rests on the efficiency


def test_poles_from_the_speed():
    assert with_plate("poles").machines[0].motor.poles == 4


def test_known_stator_resistance_is_held():
    motor = with_plate(circuit={"stator_resistance_ohm": 0.12}).machines[0].motor
    assert motor.circuit.stator_resistance_ohm == pytest.approx(0.12) and motor.figures


@pytest.mark.parametrize("left_out, values, told", [
    (("poles", "rated_rpm"), {}, "booster.motor.poles: missing"),
    (("poles",), {"rated_rpm": 4000.0}, "rated_rpm = 4000.0: must be .* synchronous speed 3000 of 2 poles"),
    ((), {"code_letter": "G"}, "says the same as locked_rotor_current_pct"),
    ((), {"locked_rotor_current_pct": 300.0, "breakdown_torque_pct": 350.0}, "booster.motor: "),
    ((), {"circuit": {"rotor_resistance_ohm": 0.1}}, "booster.motor.circuit.stator_resistance_pu: missing")])
def test_contradictions_are_refused(left_out, values, told):
    with pytest.raises(CaseError, match=told):
        with_plate(*left_out, **values)
