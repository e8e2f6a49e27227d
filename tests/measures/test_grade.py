"""What counts for the data grade of a verdict: which components, which of their keys."""

import json

import pytest

from sim.case import parse_case
from sim.cli.new import read_starter
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
