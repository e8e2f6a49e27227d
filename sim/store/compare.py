"""What differs between runs, in their inputs and in their results."""

from collections.abc import Iterable, Sequence
from math import inf, isfinite
from pathlib import Path
from typing import Any

from sim.store.read import open_runs
from sim.store.stored import StoredRun

SAME = 1e-6
NOTHING = 1e-9      # in pu, %, s, A, kV or rpm: rounding, whatever its share of the value
RESULTS = ("motors", "nodes", "transformers", "cables", "breakers", "arresters", "faults")
ABSENT = {"value": None, "unit": None, "origin": None}


def compare_runs(runs: Iterable[StoredRun | str | Path], tolerance: float = SAME) -> dict[str, Any]:
    """Compare runs with the first of them.

    Parameters
    ----------
    runs : iterable of StoredRun or path
        Two or more.
    tolerance : float
        Numbers that differ by no more than this share of the larger one are the same. [1]  So are those that
        differ by less than 1e-9 of their unit.

    Returns
    -------
    differences : dict
        `tolerance`; `runs`, a row per run; `inputs`, `results` and `criteria`, a row per key of which at
        least one run differs from the first.  Lists within a row stand in the order of the runs.  `results`
        are sorted by their largest relative difference, biggest first; one that only some runs have, and
        one that is text, counts as infinite.  `inputs` are compared exactly, in the units of the case file.

    Raises
    ------
    ValueError
        With fewer than two runs.
    StoreError
        When a run file cannot be read.

    Checked by
    ----------
    tests/store/test_compare.py
    """
    runs = open_all(list(runs))
    if len(runs) < 2:
        raise ValueError("a comparison needs two runs or more")
    return {"tolerance": tolerance, "runs": [describe_run(run) for run in runs],
            "inputs": compare_inputs([run.used for run in runs]),
            "results": compare_results([flatten(run.summary) for run in runs], tolerance),
            "criteria": compare_criteria([run.summary for run in runs])}


def open_all(runs: Sequence[StoredRun | str | Path]) -> list[StoredRun]:
    """Runs that are not open yet, opened."""
    opened = iter(open_runs([run for run in runs if not isinstance(run, StoredRun)]))
    return [run if isinstance(run, StoredRun) else next(opened) for run in runs]


def describe_run(run: StoredRun) -> dict[str, Any]:
    """What a run is and how it ended."""
    known = ("case", "case_sha256", "stepout_version", "verdict", "sentence", "data_grade")
    return {"label": run.label, "complete": run.complete, **{key: run.summary.get(key) for key in known}}


def compare_inputs(tables: Sequence[dict[str, dict]]) -> list[dict[str, Any]]:
    """Values in force that differ, by key path."""
    rows = []
    for key in merge_keys(tables):
        entries = [table.get(key, ABSENT) for table in tables]
        if any(entry["value"] != entries[0]["value"] or (entry is ABSENT) != (entries[0] is ABSENT)
               for entry in entries[1:]):
            rows.append({"key": key, "unit": next(entry["unit"] for entry in entries if entry is not ABSENT),
                         "values": [entry["value"] for entry in entries],
                         "origins": [entry["origin"] for entry in entries]})
    return rows


def compare_results(tables: Sequence[dict[str, Any]], tolerance: float) -> list[dict[str, Any]]:
    """Results that differ by more than the tolerance, biggest first."""
    rows = []
    for key in merge_keys(tables):
        values = [table.get(key) for table in tables]
        relative = [find_relative(value, values[0]) for value in values]
        if max(relative) > tolerance:
            rows.append({"key": key, "values": values,
                         "relative": [share if isfinite(share) else None for share in relative]})
    return sorted(rows, key=lambda row: -max(inf if share is None else share for share in row["relative"]))


def compare_criteria(summaries: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    """Criteria whose level or limit changed."""
    tables = [{(row["id"], row["where"]): row for row in summary.get("criteria") or []}
              for summary in summaries]
    rows = []
    for key in merge_keys(tables):
        judged = [table.get(key, {}) for table in tables]
        if any((row.get("level"), row.get("limit")) != (judged[0].get("level"), judged[0].get("limit"))
               for row in judged[1:]):
            rows.append({"id": key[0], "where": key[1], "unit": next(row["unit"] for row in judged if row),
                         "levels": [row.get("level") for row in judged],
                         "values": [row.get("value") for row in judged],
                         "limits": [row.get("limit") for row in judged]})
    return rows


def merge_keys(tables: Sequence[dict]) -> list:
    """Keys of all tables, each once, in the order of their first appearance."""
    return list(dict.fromkeys(key for table in tables for key in table))


def flatten(summary: dict[str, Any]) -> dict[str, Any]:
    """Results by dotted path: ``nodes.motor_bus.min_urms_pu``.

    What is no single value is left out: the poles of a breaker, the worst of closings at random.
    """
    statistics = (summary.get("statistics") or {}).get("nodes")
    tables = {part: summary.get(part) for part in RESULTS} | {"statistics": statistics}
    return {f"{part}.{name}.{key}": value for part, things in tables.items()
            for name, entries in (things or {}).items() for key, value in entries.items()
            if not isinstance(value, (list, dict))}


def find_relative(value: Any, reference: Any) -> float:
    """Difference of two values as a share of the larger one; infinite unless both are numbers or the same."""
    if value == reference:
        return 0.0
    if any(isinstance(item, (str, bool)) or item is None for item in (value, reference)):
        return inf
    difference = abs(value - reference)
    return 0.0 if difference < NOTHING else difference / max(abs(value), abs(reference))
