"""What counts for the data grade of a verdict: which components, which of their keys."""

import json

import pytest

from sim.case import case_schema, parse_case
from sim.cli.commands.new import read_starter
from sim.components import KINDS
from sim.components.declared import find_role, list_keys
from sim.measures.verdict.grade import find_grade

FAR_COMPONENTS = ("host_grid", "stepup", "transmission", "subsea_transformer", "subsea_drive", "gas_compressor")


@pytest.fixture(scope="module")
def far_drive():
    """Text of the starter with every component graded A, and what is filled in otherwise as overrides."""
    text = "".join(line + ('grade = "A"\n' if line.startswith("name = ") else "")
                   for line in read_starter("far-drive").splitlines(keepends=True))
    filled = [f"{path}={json.dumps(entry['value'])}" for path, entry in parse_case(text).used.items()
              if entry["origin"] == "default" and entry["grade"] and path.partition(".")[0] in FAR_COMPONENTS]
    return text, filled


@pytest.mark.parametrize("owner, key", [
    ("host_grid", "short_circuit_mva"), ("stepup", "rated_mva"), ("transmission", "length_km"),
    ("subsea_transformer", "to_kv"), ("subsea_drive", "rated_kva")])
def test_grade_covers_what_stands_behind_a_front_end(far_drive, owner, key):
    text, filled = far_drive
    assert find_grade(parse_case(text, filled)) == "A"
    marked = text.replace(f'name = "{owner}"', f'name = "{owner}"\ngrades = {{{key} = "D"}}')
    assert find_grade(parse_case(marked, filled)) == "D"


@pytest.mark.parametrize("kind, path, role", [
    ("grid", "short_circuit_mva", "data"), ("grid", "frequency_hz", "setting"), ("grid", "rated_kv", "minor"),
    ("grid", "x0_over_x1", "minor"), ("transformer", "impedance_pct", "data"), ("transformer", "tap_pct", "setting"),
    ("transformer", "to_neutral_resistance_ohm", "minor"), ("cable", "section[2].length_km", "data"),
    ("cable", "section[1].zero_capacitance_uf_per_km", "minor"), ("breaker", "closed", "setting"),
    ("breaker", "soft_start.ramp_s", "data"), ("machine", "motor.rated_kw", "data"),
    ("machine", "motor.rated_kv", "minor"), ("machine", "load.kind", "setting"),
    ("machine", "shaft.damping_nms_per_rad", "minor"), ("drive", "stretch[1].to_hz", "setting"),
    ("drive", "front_end.reactance_pct", "data"), ("drive", "front_end.charged", "setting"),
    ("drive", "dc_link.loss_pct", "minor"), ("machine", "motor.rated_torque_nm", None), ("grid", "motor.poles", None)])
def test_part_of_a_value_in_the_grade(kind, path, role):
    assert find_role(KINDS[kind], path.split(".")) == role


def test_autotransformers_count_as_the_transformers_they_become():
    shared = set(list_keys(KINDS["autotransformer"])) & set(list_keys(KINDS["transformer"]))
    assert shared > {"tap_pct", "knee_pu"}
    assert all(find_role(KINDS["autotransformer"], [key]) == find_role(KINDS["transformer"], [key]) for key in shared)


def test_the_part_in_the_grade_stays_out_of_the_schema():
    assert '"role"' not in json.dumps(case_schema())
