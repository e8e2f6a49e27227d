"""The cases that ship with the project: sound, free of warnings, and what their heads say."""

import tomllib
from pathlib import Path

import pytest

from sim.case import load_case

CASES = Path(__file__).parents[2] / "cases"
PATHS = sorted(CASES.glob("*.toml"))


def read(name):
    return tomllib.loads((CASES / f"{name}.toml").read_text())


@pytest.mark.parametrize("path", PATHS, ids=lambda path: path.stem)
def test_case_is_sound(path):
    case = load_case(path)
    assert case.warnings == ([] if case.machines else ["no machine in the case: no start is judged"])


@pytest.mark.parametrize("path", PATHS, ids=lambda path: path.stem)
def test_head_tells_what_it_shows_and_where_numbers_come_from(path):
    head = path.read_text().partition("title =")[0]
    assert "What it shows:" in head and "Where the numbers come from:" in head


def test_quillfen_twins_differ_in_the_boost_only():
    boosted, plain = read("quillfen"), read("quillfen_no_boost")
    assert boosted["drive"][0].pop("boost_pct") == 1.65 and plain["drive"][0].pop("boost_pct") == 0.0
    assert boosted.pop("title") != plain.pop("title")
    assert boosted == plain


def test_quillfen_starts_at_4_4_percent_of_voltage():
    drive = load_case(CASES / "quillfen.toml").drives[0]
    share = drive.start_hz / drive.frequency_hz + drive.boost_pu * (1.0 - drive.start_hz / drive.boost_end_hz)
    assert share == pytest.approx(0.044,
                                  abs=5e-5)      # half a unit of the last digit of the comment beside it


def test_quillfen_energised_is_the_same_feeder():
    driven, energised = read("quillfen"), read("quillfen_energise")
    assert energised["transformer"] == driven["transformer"] and energised["cable"] == driven["cable"]
    assert energised["machine"] == driven["machine"] and energised["shots"]["breaker"] == "topside_breaker"


def test_motor_breakers_sit_between_bus_and_motor():
    starts = [load_case(path) for path in PATHS if path.stem.startswith(("quillfen", "morrowgate"))]
    cases = [case for case in starts if case.breakers]
    assert len(cases) > 4
    for case in cases:
        assert case.breakers[-1].from_node == "subsea_bus"
        assert case.breakers[-1].to_node == case.machines[0].node


@pytest.mark.parametrize("name, ratio, impedance", [("morrowgate", 1.25, 0.08),
                                                    ("morrowgate_large_transformer", 2.5, 0.06)])
def test_morrowgate_transformers(name, ratio, impedance):
    case = load_case(CASES / f"{name}.toml")
    motor, transformer = case.machines[0].motor, case.transformers[1]
    rated_va = motor.rated_w / (motor.efficiency_pu * motor.power_factor_pu)
    # the head's ratio, rounded to a rating of two or three digits
    assert transformer.rated_va / rated_va == pytest.approx(ratio, rel=0.005)
    assert transformer.impedance_pu == impedance


@pytest.mark.parametrize("name, current, breakdown", [("morrowgate", 5.5, 2.2),
                                                      ("morrowgate_large_transformer", 4.5, 2.0)])
def test_morrowgate_motors_have_the_torque_and_current_of_their_heads(name, current, breakdown):
    case = load_case(CASES / f"{name}.toml")
    currents, torques = solve_motor(case.machines[0].motor, [1.0, *(0.001 * k for k in range(1, 1000))])
    assert currents[0] == pytest.approx(current, rel=0.01)      # circuit values are rounded to three digits
    assert torques[0] == pytest.approx(0.75, rel=0.01)
    assert max(torques) == pytest.approx(breakdown, rel=0.01)


def solve_motor(motor, slips):
    """Current and air-gap torque, per unit of rated, by Kirchhoff's laws at the rotor node of the circuit."""
    z, phase = motor.circuit, motor.rated_v / 3**0.5
    synchronous = 4.0 * 3.141592653589793 * motor.frequency_hz / motor.poles
    currents, torques = [], []
    for slip in slips:
        stator = 1.0 / (z.stator_resistance_ohm + 1j * z.stator_reactance_ohm)
        cages = [1.0 / (z.rotor_resistance_ohm / slip + 1j * z.rotor_reactance_ohm),
                 1.0 / (z.second_rotor_resistance_ohm / slip + 1j * z.second_rotor_reactance_ohm)]
        node = phase * stator / (stator + sum(cages) + 1.0 / (1j * z.magnetising_reactance_ohm))
        power = sum(3.0 * abs(node * cage) ** 2 * (1.0 / cage).real for cage in cages)
        currents.append(abs((phase - node) * stator) / motor.rated_current_a)
        torques.append(power / synchronous / motor.rated_torque_nm)
    return currents, torques
