"""A motor's no-load curve: what it becomes in the record and the data book, and what is refused."""

import pytest

from sim.errors import CaseError

from ..sample import MACHINE, find_mistakes, make, parse

VOLTS = [30.0, 50.0, 70.0, 90.0, 100.0, 110.0, 120.0]
AMPS = [15.0, 25.0, 35.4, 49.0, 58.5, 73.0, 97.0]        # 6.6 kV: X_m 74 ohm and a stator leakage of 2 ohm, our own
NAMEPLATE = {"rated_kw": 2000.0, "rated_kv": 6.6, "poles": 4, "rated_rpm": 1486.0, "efficiency_pu": 0.955,
             "power_factor_pu": 0.88, "locked_rotor_current_pct": 550.0, "locked_rotor_torque_pct": 80.0}
CURVE = {"no_load_voltage_pct": VOLTS, "no_load_current_a": AMPS}


def with_motor(motor=None, without=(), circuit=True, **values):
    motor = dict(motor or MACHINE["motor"]) | values
    if not circuit:
        motor.pop("circuit", None)
    else:
        motor["circuit"] = {key: value for key, value in motor["circuit"].items() if key not in without}
    return make(machine=[MACHINE | {"motor": motor}])


def test_circuit_without_a_magnetising_reactance():
    case = parse(with_motor(without=["magnetising_reactance_pu"], **CURVE, grade="B"))
    motor, used = case.machines[0].motor, case.used
    # below the first bend the terminals see stator and main path in series
    own = 6600.0 * 0.3 / (3.0**0.5 * 15.0) - motor.circuit.stator_reactance_ohm
    assert motor.circuit.magnetising_reactance_ohm == pytest.approx(own, rel=1e-3)
    assert used["booster.motor.circuit.magnetising_reactance_ohm"]["origin"] == "derived"
    assert used["booster.motor.knees_pu"]["value"] == motor.knees_pu
    assert used["booster.motor.added_pu"]["value"] == motor.added_pu
    assert used["booster.motor.no_load_error_pct"]["value"] < 1.0
    assert {used[f"booster.motor.{key}"]["grade"] for key in ("knees_pu", "no_load_error_pct")} == {"B"}
    assert "booster.motor.knee_pu" not in used and "booster.motor.saturated_pct" not in used
    assert 2 <= len(motor.knees_pu) <= 6 and motor.no_load_curve[4] == (6600.0, 58.5)
    assert sorted(motor.knees_pu) == motor.knees_pu and min(motor.added_pu) > 0.0


def test_nameplate_with_a_curve():
    bare, case = (parse(with_motor(NAMEPLATE, circuit=False, **more)) for more in ({}, CURVE))
    own, found = bare.machines[0].motor, case.machines[0].motor
    entry = case.used["booster.motor.circuit.magnetising_reactance_ohm"]
    assert entry["value"] == found.circuit.magnetising_reactance_ohm
    assert entry["basis"].startswith("straight part of the no-load curve; the nameplate alone leads to ")
    assert f"{own.circuit.magnetising_reactance_ohm:.4g} ohm" in entry["basis"]
    assert found.circuit.rotor_resistance_ohm == own.circuit.rotor_resistance_ohm
    assert found.outside_loss_w == own.outside_loss_w > 0.0


def test_current_in_per_cent_or_per_unit():
    rated = parse(with_motor(**CURVE, without=["magnetising_reactance_pu"])).machines[0].motor.rated_current_a
    for key, scale in (("no_load_current_pct", 100.0), ("no_load_current_pu", 1.0)):
        share = {"no_load_voltage_pct": VOLTS, key: [scale * each / rated for each in AMPS]}
        motor = parse(with_motor(**share, without=["magnetising_reactance_pu"])).machines[0].motor
        assert [amps for _, amps in motor.no_load_curve] == pytest.approx(AMPS)


@pytest.mark.parametrize("values, told", [
    ({"no_load_voltage_pct": VOLTS}, "motor.no_load_current_a: missing. Add the currents that belong to"),
    ({"no_load_current_a": AMPS}, "motor.no_load_voltage_pct: missing. Add the voltages that belong to"),
    (CURVE | {"no_load_current_pct": AMPS}, "motor.no_load_current_pct: given a second time as no_load_current_a"),
    (CURVE | {"knee_pu": 1.2}, "motor.knee_pu = 1.2: follows from the no-load curve. Keep one of the two."),
    (CURVE | {"no_load_current_a": AMPS[1:]}, "no_load_current_a: holds 6 numbers, no_load_voltage_pct holds 7."),
    (CURVE | {"no_load_voltage_pct": VOLTS[::-1]}, "must ascend. Sort the points by voltage, each once."),
    ({"no_load_voltage_pct": [50.0, 100.0], "no_load_current_a": [25.0, 60.0]}, "must hold 3 numbers or more"),
    ({"no_load_voltage_pct": VOLTS[:4], "no_load_current_a": AMPS[:4]}, "must reach 100 at least"),
    ({"no_load_voltage_pct": VOLTS[3:], "no_load_current_a": AMPS[3:]}, "no point lies on the straight part"),
    (CURVE | {"no_load_current_a": [*AMPS[:-1], 0.0]}, "must be > 0")])
def test_mistakes_of_the_curve(values, told):
    mistakes = find_mistakes(with_motor(without=["magnetising_reactance_pu"], **values))
    assert any(told in mistake for mistake in mistakes), mistakes


def test_all_mistakes_at_once():
    mistakes = find_mistakes(with_motor(without=["rotor_resistance_pu"], no_load_voltage_pct=[50.0, 40.0, 90.0],
                                        no_load_current_a=[1.0, 2.0], saturated_pct=30.0))
    assert len(mistakes) == 6, mistakes
    assert not any("magnetising" in mistake for mistake in mistakes)


def test_a_reactance_that_is_the_saturated_one():
    with pytest.raises(CaseError, match=r"booster.motor.no_load_voltage_pct: a point draws .* less than the "
                                        r"magnetising reactance of .* ohm; give the unsaturated one, .* leave it out"):
        parse(with_motor(**CURVE))
