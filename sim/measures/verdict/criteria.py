"""The table of criteria: what is judged, against which limit, and on whose word.

Every limit can be changed in the case file under the key named here.  The defaults seed a project's own
list; those marked "from memory" have to be checked against the document before anyone relies on them.
"""

from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class Criterion:
    """One row of the table.

    `key` is the name of the limit in the case file's [criteria] (None: nothing to set), `sense` says whether
    the limit is a "min" or a "max", `normal` is the value at which the whole margin is left (None: it is
    counted from the limit itself), `scope` is what the criterion protects: "start", "neighbours",
    "insulation", "equipment" or "result".
    """

    id: str
    quantity: str
    unit: str
    key: str | None
    default: float | None
    sense: str
    normal: float | None
    scope: str
    basis: str


ROWS = (
    Criterion("motor_voltage", "lowest one-cycle RMS voltage at the motor while starting direct",
              "% of motor rating", "motor_voltage_min_pct", 80.0, "min", 100.0, "start",
              "IEEE 3002.7 (formerly IEEE 399), voltage at the starting motor (from memory, to be checked)"),
    Criterion("bus_voltage", "lowest one-cycle RMS voltage at a bus while starting, systems above 600 V",
              "% of nominal", "bus_voltage_min_pct", 85.0, "min", 100.0, "neighbours",
              "PIP ELCGL01 (2002) cl. 3.7.6"),
    Criterion("accelerating_torque", "least accelerating torque from 5 % to 95 % of final speed",
              "% of rated torque", "accelerating_torque_min_pct", 10.0, "min", None, "start",
              "API 541, accelerating torque at reduced voltage (from memory, to be checked)"),
    Criterion("breakaway", "torque available at standstill over breakaway torque", "1",
              "breakaway_ratio_min", 1.2, "min", None, "start", "common practice, 1.2 to 1.5"),
    Criterion("time_to_speed", "time from first voltage to 95 % of final speed", "s",
              "time_to_speed_max_s", None, "max", 0.0, "start",
              "common practice: 80 to 90 % of the hot safe-stall time; thermal limit curves as in IEEE 620 "
              "(from memory, to be checked)"),
    Criterion("transient_peak", "largest phase-to-earth or phase-to-phase peak", "% of lightning withstand",
              "overvoltage_max_pct_of_withstand", 85.0, "max", 0.0, "insulation",
              "IEC 60071-2, safety factor 1.15 (from memory, to be checked); withstand by IEC 60071-1"),
    Criterion("statistical_peak", "peak that 2 % of closings exceed, to earth or between phases",
              "% of lightning withstand", "overvoltage_max_pct_of_withstand", 85.0, "max", 0.0, "insulation",
              "IEC 60071-2, 2 % value of the slow-front overvoltage, safety factor 1.15 (from memory, to be checked); "
              "withstand by IEC 60071-1"),
    Criterion("temporary_overvoltage", "highest one-cycle RMS voltage", "pu",
              "temporary_overvoltage_max_pu", 1.3, "max", 1.0, "insulation",
              "common practice, a few seconds at most; an arrester's own curve governs"),
    Criterion("flux_at_speed", "transformer flux at speed, one-cycle mean", "pu",
              "flux_max_pu", 1.1, "max", 1.0, "equipment",
              "IEC 60076-1 and IEEE C57.12.00: 1.05 at rated load, 1.10 at no load (from memory, to be "
              "checked)"),
    Criterion("flux_starting", "peak transformer flux below 90 % of rated frequency", "pu",
              "start_flux_max_pu", None, "max", 1.0, "equipment",
              "the flux margin the transformer is ordered with"),
    Criterion("drive_current", "drive RMS current over one rated cycle", "% of drive rating",
              "drive_current_max_pct", 110.0, "max", 0.0, "start",
              "common practice: normal duty 110 % for 60 s"),
    Criterion("cable_current", "cable current at speed, the higher end, charging included", "% of ampacity",
              "cable_current_max_pct", 100.0, "max", 0.0, "equipment",
              "common practice; ampacity by IEC 60287"),
    Criterion("energy_residual", "energy the run cannot account for", "% of throughput",
              "energy_residual_max_pct", 0.1, "max", 0.0, "result", "energy conservation"),
    Criterion("recovery_voltage", "largest recovery voltage across a pole", "% of the standard envelope's peak",
              "recovery_voltage_max_pct", 100.0, "max", 0.0, "equipment",
              "IEC 62271-100, terminal fault T100, class S1 (from memory, to be checked); a slow recovery after "
              "charging current has its own duty there"),
    Criterion("recovery_rate", "steepest rise of recovery voltage", "% of the standard rate",
              "recovery_rate_max_pct", 100.0, "max", 0.0, "equipment",
              "IEC 62271-100, terminal fault T100, class S1 (from memory, to be checked)"),
    Criterion("missing_zeros", "time without a current zero in a pole, beyond half a cycle", "cycles",
              "missing_zero_cycles_max", 1.0, "max", 0.0, "equipment",
              "common practice: no longer than the breaker may wait for its zero"),
    Criterion("reignition", "re-ignitions of a breaker's poles", "1", "reignitions_max", 0.0, "max", 0.0,
              "insulation", "common practice; IEC 60034-15 gives the withstand of a motor winding"),
    Criterion("arrester_energy", "energy of the arrester's most loaded phase", "% of rating",
              "arrester_energy_max_pct", 100.0, "max", 0.0, "equipment", "the arrester's own energy rating"),
    Criterion("chatter", "longest run of steps in which the solution alternates", "steps", "chatter_max_steps",
              8.0, "max", 0.0, "result", "numerical check"),
    Criterion("thermal", "share of the hot thermal limit used by the start", "%", None, None, "max", 0.0,
              "start", "common practice: at most 80 %; limit from the motor's thermal curve"),
)
CRITERIA = {row.id: row for row in ROWS}
MARGINAL_BAND_PCT = 10.0
DEFAULTS = {row.key: row.default for row in ROWS if row.key} | {"marginal_band_pct": MARGINAL_BAND_PCT}


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
        reason = "the run left no such value"
    if reason is None and limit is None:
        reason = f"no limit given (criteria.{row.key})" if row.key else "not modelled"
    margin = None if reason else find_margin(row, value, limit)
    level = "not assessed" if reason else find_level(margin, find_limit(criteria, "marginal_band_pct"))
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
