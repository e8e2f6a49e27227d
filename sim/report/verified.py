"""The rerun with finer steps as a table: biggest change first."""

from math import inf
from typing import Any

from sim.report.tables import NONE, align, fill, write_number

HEAD = ["", "quantity", "where", "value", "finer", "change", ""]
FLAG = "changes"
CREDIBLE_PCT = 2.0      # a quantity that changes by less counts as credible (common practice)
REMEDY = "Raise study.bandwidth_khz, shorten study.waveform_step_us or lower study.tolerance_pu until it stays below."
LEFT_OUT = "Energy balance and alternating steps are left out: they measure the solution itself."


def list_verified(verified: dict[str, Any] | None) -> list[str]:
    """A line per quantity and what follows; nothing where no rerun was asked for."""
    if verified is None:
        return []
    rows = sorted(verified["rows"], key=lambda row: -measure(row))
    numbers = {id: k for k, id in enumerate(dict.fromkeys(row["id"] for row in rows), start=1)}
    names = {row["id"]: f"{row['quantity']} [{row['unit']}]" for row in rows}
    heading = (f"Run again with twice the band ({1e-3 * verified['bandwidth_hz']:.4g} kHz), half the step "
               f"({1e6 * verified['waveform_step_s']:.4g} us) and the tolerance {verified['tolerance_pu']:.3g}")
    return [heading, *(align([HEAD], [write_row(row, numbers[row["id"]]) for row in rows], left=3) if rows else []),
            *(line for id, k in numbers.items() for line in fill(names[id], "      ", f"  [{k}] ")),
            *fill(LEFT_OUT), *fill(conclude(rows, verified["worst_change_pct"]))]


def measure(row: dict[str, Any]) -> float:
    """Size of a change [%]; infinite where only one of the runs has the quantity."""
    return inf if row["change_pct"] is None else abs(row["change_pct"])


def write_row(row: dict[str, Any], number: int) -> list[str]:
    """Cells of one quantity."""
    change = row["change_pct"]
    change = NONE if change is None else f"{write_number(round(change, 2) + 0.0, '+.2f')} %"      # no "-0.00"
    return ["" if is_credible(row) else FLAG, row["id"].replace("_", " "), row["where"],
            write_number(row["value"], ".4g"), write_number(row["refined"], ".4g"), change, f"[{number}]"]


def is_credible(row: dict[str, Any]) -> bool:
    """Whether a quantity is in both runs and changes by less than 2 %."""
    return measure(row) < CREDIBLE_PCT


def conclude(rows: list[dict[str, Any]], worst: float | None) -> str:
    """What the changes say, in a sentence or two."""
    if not rows:
        return "The run left no quantity to verify."
    moved = sum(not is_credible(row) for row in rows)
    if not moved:
        return f"No quantity changes by more than {worst:.2g} %; below {CREDIBLE_PCT:g} % they count as credible."
    many = "1 quantity changes" if moved == 1 else f"{moved} quantities change"
    return f"{many} by {CREDIBLE_PCT:g} % or more and cannot be relied on with these steps. {REMEDY}"
