"""Random case files: the same seed gives the same file, every file is a case, and every kind of part occurs."""

import tomllib

from sim.case import parse_case

from . import random_cases

SEEDS = range(60)


def test_same_seed_same_case_and_text_reads_back():
    case = random_cases.random_case(7)
    assert case == random_cases.random_case(7)
    assert case != random_cases.random_case(8)
    read = tomllib.loads(random_cases.write_toml(case, "seven"))
    assert read == {"title": "seven"} | case | {"study": case["study"][0]}


def test_every_case_is_accepted_and_all_parts_occur():
    seen, fronts = set(), set()
    for seed in SEEDS:
        case = random_cases.random_case(seed)
        parse_case(random_cases.write_toml(case, f"random {seed}"), name=f"random_{seed}")
        seen |= set(case)
        fronts |= {row["front_end"]["kind"] for row in case.get("drive", []) if "front_end" in row}
        assert 1 <= len(case.get("machine", [])) + len(case.get("drive", [])) + len(case.get("shunt", []))
    assert seen == {"study", "grid", "transformer", "breaker", "cable", "drive", "machine", "shunt", "reactor",
                    "arrester", "fault", "event"}
    assert fronts == {"active", "rectifier"}
