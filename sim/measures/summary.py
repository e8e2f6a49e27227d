"""From a run to its summary: the JSON that `stepout run` prints and the run file keeps."""

from dataclasses import replace
from importlib import metadata
from typing import Any

import numpy as np

from sim.measures.findings import Findings, measure_all
from sim.measures.signals.spectrum import describe_spectra, find_spectra
from sim.measures.switching.closings import judge_closings, measure_closings
from sim.measures.verdict.cautions import CAUTIONS
from sim.measures.verdict.grade import find_grade
from sim.measures.verdict.judgement import judge_all
from sim.measures.verdict.verdict import decide, write_sentence
from sim.results.run import Event, RunResult


def summarise(result: RunResult) -> dict:
    """Measure a run, judge it and put both into one dictionary.

    Parameters
    ----------
    result : RunResult
        A run, complete or not.  One that left fewer than two samples is not measured.

    Returns
    -------
    summary : dict
        Plain numbers, strings, lists and None, ready for JSON.  Units are in the names; what was not
        computed is None.

    Checked by
    ----------
    tests/measures/test_summary.py
    """
    result = drop_empty(result)
    found = measure_all(result) if result.stretches else Findings()
    statistics = measure_closings(result)
    judged = [*(judge_all(result, found) if result.stretches else []), *judge_closings(result, statistics)]
    starts = list(found.starts.values())
    verdict = decide(result.failure, starts, judged)
    return plain({
        "case": result.case.name, "case_sha256": result.case.sha256, "stepout_version": find_version(),
        "verdict": verdict, "sentence": write_sentence(verdict, result, starts, found.torques, judged),
        "motors": found.motors, "nodes": found.nodes, "transformers": found.transformers,
        "cables": found.cables, "breakers": {name: operated.entry for name, operated in found.operated.items()},
        "openings": found.openings, "arresters": found.arresters, "faults": found.faults,
        "spectra": describe_spectra(find_spectra(result)), "statistics": statistics, "criteria": judged,
        "events": list_events(result.events), "data_grade": find_grade(result.case),
        "quality": list_quality(result),
        "timing": {name: result.timing.get(name) for name in ("compile_s", "solve_s", "total_s")},
        "cautions": list(CAUTIONS),
    })


def drop_empty(result: RunResult) -> RunResult:
    """The run without empty stretches; without any, and with a failure, when under two samples are left."""
    stretches = [stretch for stretch in result.stretches if len(stretch.t)]
    if sum(len(stretch.t) for stretch in stretches) >= 2:
        return replace(result, stretches=stretches)
    return replace(result, stretches=[], failure=result.failure or "it left no samples")


def list_events(events: list[Event]) -> list[dict[str, Any]]:
    """The log in order of time; `phase` is None but for a pole, `value` where its kind has none."""
    return [{"time_s": event.t, "what": event.what, "where": event.where, "phase": event.phase or None,
             "why": event.why, "ordered": event.ordered, "value": event.value, "text": event.label}
            for event in sorted(events, key=lambda event: event.t)]


def list_quality(result: RunResult) -> dict:
    """What speaks for and against the numbers themselves."""
    return {"energy_residual_pct": None if result.energy is None else result.energy.residual_pct,
            "steps_envelope": result.steps.get("envelope"), "steps_waveform": result.steps.get("waveform"),
            "chatter_steps": getattr(result, "chatter_steps", None),
            "handovers": list(result.handovers), "warnings": [*result.case.warnings, *result.warnings]}


def find_version() -> str | None:
    """Version of the installed package, None when it runs uninstalled."""
    try:
        return metadata.version("stepout")
    except metadata.PackageNotFoundError:
        return None


def plain(value: Any) -> Any:
    """Turn NumPy scalars and arrays into plain Python, and what is not finite into None."""
    if isinstance(value, dict):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, (list, tuple, np.ndarray)):
        return [plain(item) for item in value]
    if isinstance(value, np.generic):
        return plain(value.item())
    return None if isinstance(value, float) and not np.isfinite(value) else value
