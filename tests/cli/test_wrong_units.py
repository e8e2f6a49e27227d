"""The examples with deliberate slips of unit: every slip is named, `--strict` refuses the case."""

from pathlib import Path

import pytest

CASES = Path(__file__).parents[2] / "cases"
SLIPS = {"quillfen": ("subsea_transformer.impedance_pct = 0.8", "umbilical.capacitance_uf_per_km = 1.8",
                      "booster.shaft.inertia_kgm2 = 360"),
         "morrowgate": ("host_grid.short_circuit_mva = 26", "feeder.inductance_mh_per_km = 3.6",
                        "stepup.impedance_pct = 0.1")}


@pytest.mark.parametrize("name", SLIPS)
def test_every_slip_is_named(call_json, name):
    code, told = call_json("check", CASES / "wrong_units" / f"{name}.toml")
    assert code == 0
    for slip in SLIPS[name]:
        assert any(text.startswith(slip) for text in told["suspicions"]), slip
    assert set(told["suspicions"]) <= set(told["warnings"])


def test_likely_right_value_is_proposed(call_json):
    _, told = call_json("check", CASES / "wrong_units" / "quillfen.toml")
    inertia = next(text for text in told["suspicions"] if "inertia" in text)
    assert "GD2" in inertia and "inertia_kgm2 = 90" in inertia


@pytest.mark.parametrize("command", ["check", "run"])
def test_strict_refuses(call, command):
    done = call(command, CASES / "wrong_units" / "quillfen.toml", "--strict")
    assert done.exit_code == 2 and "booster.shaft.inertia_kgm2" in done.stderr


@pytest.mark.parametrize("path", sorted(CASES.glob("*.toml")), ids=lambda path: path.stem)
def test_no_alarm_on_the_examples(call_json, path):
    code, told = call_json("check", path, "--strict")
    assert code == 0 and told["suspicions"] == []
