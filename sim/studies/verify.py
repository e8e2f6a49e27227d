"""How far the numbers of a run depend on its steps: the same case once more, with finer ones.

The rerun doubles the band of steps, fronts and cables, which halves the step of the waveform engine, and divides the
tolerance of the envelope engine by 16: its error estimate belongs to order 4, so that steps about half as long follow
from it.  What then changes is, for the orders 2 and 4 of the two methods, most of the error that the coarser run had,
and half of what its band left out.
"""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from sim.engines.waveform.engine import choose_steps
from sim.measures.verdict.criteria import CRITERIA
from sim.network.build import build_network
from sim.studies.run import run
from sim.units import Record

BAND_FACTOR, TOLERANCE_SHARE = 2.0, 1.0 / 16.0
NOTHING = 1e-9      # in the unit of a quantity: rounding, whatever its share of the value
# of each node: what, its unit and its key in the summary
PEAKS = (("peak_phase_earth", "largest phase-to-earth peak", "kV", "peak_phase_earth_kv"),
         ("peak_phase_phase", "largest phase-to-phase peak", "pu", "peak_phase_phase_pu"))


def verify_step(case: Any, engine: str | None, summary: dict[str, Any],
                progress: Callable[[float], None] | None = None) -> dict[str, Any]:
    """Run a case again with finer steps and hold the summary's quantities against those found then.

    Parameters
    ----------
    case : CheckedCase
    engine : str or None
        As in the run that is verified.
    summary : dict
        Of that run.
    progress : callable, optional
        Called with the share of the second run that is done, 0 to 1.

    Returns
    -------
    verified : dict
        `waveform_step_s` [s], `bandwidth_hz` [Hz] and `tolerance_pu` [1] of the second run, `rows` as made by
        `compare_quantities` and
        `worst_change_pct`, the largest size of a change [%], None without any.

    Raises
    ------
    SolveError
        When the second run could not be carried to its end.

    Checked by
    ----------
    tests/studies/test_verify.py
    """
    finer = refine(case)
    bands = build_network(finer).bands
    rows = compare_quantities(summary, run(finer, engine, progress)[1])
    changes = [abs(row["change_pct"]) for row in rows if row["change_pct"] is not None]
    return {"waveform_step_s": choose_steps(finer.study, bands)[0], "bandwidth_hz": bands.study,
            "tolerance_pu": finer.study.tolerance_pu, "rows": rows,
            "worst_change_pct": max(changes, default=None)}


def refine(case: Any) -> Any:
    """The case with twice the band, half the waveform step and a sixteenth of the envelope's tolerance."""
    given, factor = case.study.waveform_step_s, BAND_FACTOR * case.study.band_factor
    study = vars(case.study) | {"waveform_step_s": given and given / BAND_FACTOR, "band_factor": factor,
                                "tolerance_pu": TOLERANCE_SHARE * case.study.tolerance_pu}
    return replace(case, study=Record(**study))


def compare_quantities(summary: dict[str, Any], finer: dict[str, Any]) -> list[dict[str, Any]]:
    """Quantities of two runs side by side, in the order of the first.

    Returns
    -------
    rows : list of dict
        `id`, `where`, `quantity`, `unit`, `value`, `refined` and `change_pct`: the change in per cent of the value,
        of the refined one where the value is zero; None where only one of the runs has the quantity.
    """
    coarse, fine = list_quantities(summary), list_quantities(finer)
    return [{"id": id, "where": where, **describe(coarse, fine, (id, where))} for id, where in coarse | fine]


def describe(coarse: dict, fine: dict, key: tuple[str, str]) -> dict[str, Any]:
    """One quantity of both runs."""
    quantity, unit, _ = coarse.get(key) or fine[key]
    value, refined = (table[key][2] if key in table else None for table in (coarse, fine))
    return {"quantity": quantity, "unit": unit, "value": value, "refined": refined,
            "change_pct": find_change(value, refined)}


def find_change(value: float | None, refined: float | None) -> float | None:
    """Change of a value. [%]"""
    if value is None or refined is None:
        return None
    if abs(refined - value) < NOTHING:
        return 0.0
    return 100.0 * (refined - value) / abs(value or refined)


def list_quantities(summary: dict[str, Any]) -> dict[tuple[str, str], tuple[str, str, float]]:
    """What a verdict can rest on: (id, where) -> quantity, unit, value.

    The criteria with a value, among them the machines' time to speed, and the peaks of every node.  Criteria that
    watch the solution itself (energy balance, alternating steps) change with the steps by design and are left out, as
    are closings at random, which are not repeated.
    """
    found = {(row["id"], row["where"]): (row["quantity"], row["unit"], row["value"]) for row in summary["criteria"]
             if CRITERIA[row["id"]].scope != "result" and row["id"] != "statistical_peak"}
    found |= {(id, name): (what, unit, node[key]) for id, what, unit, key in PEAKS
              for name, node in summary["nodes"].items()}
    return {key: entry for key, entry in found.items() if entry[2] is not None}
