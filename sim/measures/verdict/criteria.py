"""One value held against one limit: the margin that is left, and its level."""

from typing import Any

from sim.components.study.criteria import CRITERIA, DEFAULTS, MARGINAL, RUNNING, Criterion

# part of the run that a criterion is meant for -> why there is no value where the run holds none of it
ABSENT = {RUNNING: "the run never settled at speed"}


def find_limit(criteria: Any, key: str | None) -> float | None:
    """Limit in force: the case's value, else the table's default; None when there is no limit."""
    return getattr(criteria, key, DEFAULTS[key]) if key else None


def judge(criteria: Any, id: str, where: str, value: float | None, reason: str | None = None) -> dict:
    """Hold one value against its limit.

    Parameters
    ----------
    criteria : object
        The case's criteria, an attribute per key.
    id : str
        Row of the table.
    where : str
        Component or node the value belongs to.
    value : float or None
        In the unit of the row.
    reason : str, optional
        Why this value cannot be judged; it makes the level "not assessed" even when a value is there.

    Returns
    -------
    judged : dict
        One entry of the summary's `criteria`; `margin_pct` is the share of the way from the normal value to
        the limit that is left, negative beyond the limit.
    """
    row = CRITERIA[id]
    limit = find_limit(criteria, row.key)
    if reason is None and value is None:
        reason = next((ABSENT[phase] for phase in row.phases if phase in ABSENT), "the run left no such value")
    if reason is None and limit is None:
        reason = f"no limit given (criteria.{row.key})" if row.key else "not modelled"
    margin = None if reason or value is None or limit is None else find_margin(row, value, limit)
    level = "not assessed" if margin is None else find_level(margin, getattr(criteria, MARGINAL, DEFAULTS[MARGINAL]))
    return {"id": id, "where": where, "quantity": row.quantity, "value": value, "unit": row.unit,
            "limit": limit, "margin_pct": margin, "level": level, "basis": row.basis, "reason": reason}


def find_margin(row: Criterion, value: float, limit: float) -> float:
    """Share of the margin that is left. [%]

    A limit on the wrong side of the normal value leaves no room to share out; there, and where no value is
    normal, the margin is counted in parts of the limit.  Where nothing at all is allowed, nothing is all of it.
    """
    sign = 1.0 if row.sense == "max" else -1.0
    if value == limit == row.normal:
        return 100.0
    room = abs(limit) if row.normal is None else sign * (limit - row.normal)
    room = room if room > 0.0 else abs(limit) or 1.0
    return 100.0 * sign * (limit - value) / room


def find_level(margin: float, band: float) -> str:
    """Level of a margin [%]: fail below zero, marginal below the band [%], else pass."""
    if margin < 0.0:
        return "fail"
    return "marginal" if margin < band else "pass"
