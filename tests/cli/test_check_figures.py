"""Figures of a check as files: names, what is drawn, which figures were assumed, what cannot be written."""

from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from sim.case import load_case
from sim.cli.drawing.check import (
    FIGURES,
    draw_check,
    find_fits,
    find_impedance,
    find_origins,
    list_cables,
    list_motors,
    read_nameplate,
)
from sim.errors import StoreError

CASES = Path(__file__).parents[2] / "cases"
FREQUENCY = np.geomspace(0.1, 20e3, 31)
PNG = b"\x89PNG\r\n\x1a\n"          # first bytes of every PNG file (ISO/IEC 15948)


def line(scale=1.0):
    return SimpleNamespace(resistance_ohm_per_m=scale * 2e-4, inductance_h_per_m=scale * 3.5e-7,
                           branch_resistance_ohm_per_m=(1e-4,), branch_inductance_h_per_m=(4e-8,))


def cable(name, sections):
    return SimpleNamespace(name=name, from_node="head",
                           sections=[SimpleNamespace(positive=line(), zero=line(3.0)) for _ in range(sections)])


def fit(error=1.0):
    return {"frequency_hz": list(FREQUENCY), "positive": error * find_impedance(line(), FREQUENCY),
            "zero": error * find_impedance(line(3.0), FREQUENCY)}


@pytest.fixture
def case():
    circuit = SimpleNamespace(stator_resistance_ohm=0.1, stator_reactance_ohm=1.4, magnetising_reactance_ohm=48.0,
                              rotor_resistance_ohm=0.17, rotor_reactance_ohm=1.4)
    motor = SimpleNamespace(circuit=circuit, rated_v=6600.0, frequency_hz=50.0, poles=4, rated_torque_nm=16e3,
                            rated_current_a=260.0, rated_speed_rad_per_s=155.7, locked_rotor_current_pu=5.5,
                            locked_rotor_torque_pu=0.75, breakdown_torque_pu=None)
    fits = {"booster.motor": {"figures": [("locked-rotor torque", 75.0, 74.0, "% of rated", -1.3)]},
            "umbilical": fit(), "jumper.section[2]": fit(1.01)}
    entries = {key: {"origin": "given", "grade": "C"} for key in ("rated_rpm", "rated_current_a",
                                                                  "locked_rotor_current_pct")}
    entries["locked_rotor_torque_pct"] = {"origin": "default", "grade": "D"}
    used = {f"{name}.motor.{key}": entry for name in ("booster", "spare pump") for key, entry in entries.items()}
    return SimpleNamespace(name="sample", sha256="0" * 64, used=used,
                           nodes=[SimpleNamespace(name="head", frequency_hz=60.0)],
                           machines=[SimpleNamespace(name=name, motor=motor) for name in ("booster", "spare pump")],
                           cables=[cable("umbilical", 1), cable("jumper", 2), cable("given", 1)], fits=fits)


def test_files_of_a_check(case, tmp_path):
    paths = draw_check(case, tmp_path / "figures", case.fits)
    assert [path.name for path in paths] == ["sample_motor_booster.png", "sample_motor_spare_pump.png",
                                             "sample_cable_umbilical.png", "sample_cable_jumper_2.png"]
    assert all(path.read_bytes().startswith(PNG) for path in paths)
    assert sorted(path.name for path in (tmp_path / "figures").iterdir()) == sorted(path.name for path in paths)


def test_figures_carry_names_frequency_and_errors(case):
    figures = {parts: draw() for parts, draw in list_cables(case, case.fits)}
    words = "\n".join(text.get_text() for axes in figures["cable", "jumper", "2"].axes for text in axes.texts)
    assert "at 60 Hz" in words and "R 0.99 %, Z 0.99 %" in words        # 1/1.01
    assert any(text.get_text().startswith("jumper section 2") for text in figures["cable", "jumper", "2"].texts)


def test_impedance_of_the_branches():
    """R + jwL + jwLk Rk/(Rk + jwLk) at w = Rk/Lk: half of Rk in each part."""
    at = np.array([1e-4 / 4e-8 / (2.0 * np.pi)])
    expected = 2e-4 + 0.5e-4 + 1j * (1e-4 / 4e-8 * 3.5e-7 + 0.5e-4)
    assert find_impedance(line(), at)[0] == pytest.approx(expected, rel=1e-12)


def test_nameplate_in_per_cent(case):
    assert read_nameplate(case.machines[0].motor) == {
        "locked_rotor_current_pct": pytest.approx(550.0), "locked_rotor_torque_pct": pytest.approx(75.0),
        "breakdown_torque_pct": None}


def test_assumed_is_what_nobody_gave():
    """The example states two figures of the motor besides power, voltage and poles; all others are filled in."""
    case = load_case(CASES / "quillfen_nameplate.toml")
    origins = find_origins(case.used, "booster.motor")
    assert {key for key, origin in origins.items() if origin != "assumed"} == {
        "locked_rotor_current_pct", "locked_rotor_torque_pct"}
    _, draw = next(list_motors(case, find_fits(case)))
    table = [text.get_text() for text in draw().axes[2].texts]
    rows = {name: table[table.index(name) + 2] for name in FIGURES}     # name, value, origin
    assert rows == {name: origins[key] for name, key in FIGURES.items()}


@pytest.mark.parametrize("override, key, origin", [
    ("breakdown_torque_pct=220.0", "breakdown_torque_pct", "given"),
    ("efficiency_pu=0.95", "rated_current_a", "assumed"),              # the power factor is still assumed
    ("grade=D", "locked_rotor_current_pct", "assumed")])                # stated, but as an assumption
def test_origin_follows_the_data_book(override, key, origin):
    case = load_case(CASES / "quillfen_nameplate.toml", [f"booster.motor.{override}"])
    assert find_origins(case.used, "booster.motor")[key] == origin


def test_current_that_follows_from_given_figures_is_derived():
    given = [f"booster.motor.{text}" for text in ("efficiency_pu=0.95", "power_factor_pu=0.88")]
    case = load_case(CASES / "quillfen_nameplate.toml", given)
    assert find_origins(case.used, "booster.motor")["rated_current_a"] == "derived"


def test_directory_that_cannot_be_made(case, tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(StoreError, match="cannot be written"):
        draw_check(case, tmp_path / "file" / "figures", case.fits)


def test_figure_that_cannot_be_written(case, tmp_path):
    (tmp_path / "sample_motor_booster.png").mkdir()
    with pytest.raises(StoreError, match="sample_motor_booster.png: figure cannot be written"):
        draw_check(case, tmp_path, case.fits)
    assert [path.name for path in tmp_path.iterdir()] == ["sample_motor_booster.png"]
