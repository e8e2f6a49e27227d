"""How good the data behind a verdict is: the worst grade on its path.

A measured, B guaranteed, C typical, D a default nobody chose.  The path is every component on the island of a machine
and, where the machine's drive has a front end, on the island that feeds it; values derived from others
included.  Left out are settings, which are decisions and not data, limits, and the small quantities that shape a
transient but do not decide whether a machine comes up to speed.
"""

from typing import Any

from sim.case.build.databook import worst_grade
from sim.topology import find_supplying, list_members

GRADES = "ABCD"
SETTINGS = {
    "frequency_hz", "start_hz", "hold_s", "ramp_hz_per_s", "target_hz", "boost_pct", "boost_end_hz",
    "voltage_rise_s", "current_limit_pct", "current_filter_ms", "stall_s", "tap_pct", "voltage_pu",
    "phase_deg", "closed", "earthed", "load_pct", "nominal_kv", "connection", "vector_group",
    "service", "discharge", "closing_delays_ms", "opening_delays_ms", "closing_angle_deg", "remanence_pu",
    "trapped_pu", "to_hz", "ramp_smoothing_s", "compensated_ohm", "compensation_max_pct", "slip_compensation_hz",
    "compensation_filter_ms", "voltage_max_pct", "limit_action", "overload_pct", "overload_s", "overload_recovery_s",
    "overcurrent_trip_pct", "catch_spinning", "catch_hz_per_s", "catch_voltage_pct", "restart_delay_s", "restarts",
    "modulation_max_pct", "undervoltage_trip_pct", "ride_through_pct", "ride_through_hz_per_s",
    "kind", "power_factor", "leading",
    "current_max_pct", "control_hz", "current_ms", "voltage_filter_ms", "charged",
}
SMALL = {
    "stray_nf", "winding_nf", "contact_resistance_uohm", "x0_over_x1", "zero_resistance_ohm_per_km",
    "zero_inductance_mh_per_km", "zero_capacitance_uf_per_km", "conductance_us_per_km", "no_load_current_pct",
    "no_load_loss_pct", "um_kv", "lightning_withstand_kv", "ampacity_a", "rated_kv",
    "knee_pu", "air_core_pct", "bushing_nf", "damping_nms_per_rad", "locked_rotor_saturation_pu",
    "saturated_pct", "core", "zero_magnetising_pct", "quality", "scatter_ms", "insertion_ohm", "insertion_ms",
    "chopping_a", "recovery_start_kv", "recovery_rise_kv_per_ms", "recovery_most_kv", "quench_a_per_us",
    "neutral_resistance_ohm", "neutral_reactance_ohm", "from_neutral_resistance_ohm", "from_neutral_reactance_ohm",
    "to_neutral_resistance_ohm", "to_neutral_reactance_ohm", "charging_resistance_pct", "loss_pct",
}


def find_grade(case: Any) -> str | None:
    """Worst data grade on the path of the verdict; None when the case keeps no grades.

    Parameters
    ----------
    case : CheckedCase
        Its `used` gives {"grade", ...} per dotted path, flat or nested by component.

    Returns
    -------
    grade : str or None
    """
    names = find_path(case)
    grades = [entry.get("grade") for path, entry in flatten(case.used)
              if path[0] in names and path[-1] not in SETTINGS | SMALL]
    return worst_grade(*(grade for grade in grades if grade and grade in GRADES))


def flatten(used: dict, path: tuple = ()):
    """Yield (path, entry) of every graded value."""
    for key, value in used.items():
        here = (*path, *str(key).split("."))
        if isinstance(value, dict) and "grade" in value:
            yield here, value
        elif isinstance(value, dict):
            yield from flatten(value, here)


def find_path(case: Any) -> set[str]:
    """Names of the components on an island with a machine, and on every island that feeds it through a front end."""
    members = list_members(case)
    nodes = find_supplying(members, [machine.node for machine in case.machines])
    return {member.name for member in members if member.row.is_graded and member.ends[0] in nodes}
