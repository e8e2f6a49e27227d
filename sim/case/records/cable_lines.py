"""Electrical records of the two sequences of a cable, per length."""

from typing import Any

from sim.components.branches import cable as cables
from sim.units import Record, convert


def make_given_lines(values: dict[str, Any]) -> dict[str, Record]:
    """Records of both sequences, "positive" and "zero", from the constants of the case file."""
    si = vars(convert({key: values[key] for key in (*cables.CONSTANTS, *cables.ZERO_CONSTANTS,
                                                    "conductance_us_per_km")}))
    leak = si["conductance_s_per_m"]
    return {sequence: make_line(si[f"{prefix}resistance_ohm_per_m"], si[f"{prefix}inductance_h_per_m"],
                                si[f"{prefix}capacitance_f_per_m"], leak)
            for sequence, prefix in (("positive", ""), ("zero", "zero_"))}


def make_line(resistance: float, inductance: float, capacitance: float, conductance: float,
              branch_resistance: tuple = (), branch_inductance: tuple = ()) -> Record:
    """Series and shunt constants of one sequence: Z' = R + sL + sum of sL_k R_k/(R_k + sL_k), SI."""
    return Record(resistance_ohm_per_m=resistance, inductance_h_per_m=inductance, capacitance_f_per_m=capacitance,
                  conductance_s_per_m=conductance, branch_resistance_ohm_per_m=branch_resistance,
                  branch_inductance_h_per_m=branch_inductance)
