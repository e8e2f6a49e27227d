"""Derived quantities of the cables, in closed form from their constants per length.

Sources
-------
Uniform line: V1 = V2 cosh(gamma l) + Zc I2 sinh(gamma l), any text on transmission lines; sections in series
multiply their chain matrices.
"""

from typing import Any, NamedTuple

import numpy as np

from sim.params.cable.iec60287 import charging_current, charging_power
from sim.params.cable.modes import exact_two_port, series_impedance
from sim.studies.survey.peaks import find_first_peak

SCAN_SHARES = np.linspace(0.005, 0.6, 600)      # of the inverse travel time; a quarter wave lies at 0.25


class Section(NamedTuple):
    """Length [m] and positive-sequence constants per metre, in the order in which the two-port takes them."""

    length: float
    resistance: float
    inductance: float
    capacitance: float
    conductance: float
    branches: tuple


def list_sections(cable: Any) -> list[Section]:
    """Uniform pieces of a cable, near end first."""
    return [make_section(section.length_m, section.positive) for section in cable.sections]


def make_section(length: float, line: Any) -> Section:
    """Section of a length [m] from the record of its positive sequence."""
    branches = zip(getattr(line, "branch_resistance_ohm_per_m", ()), getattr(line, "branch_inductance_h_per_m", ()))
    return Section(length, line.resistance_ohm_per_m, line.inductance_h_per_m, line.capacitance_f_per_m,
                   line.conductance_s_per_m, tuple(branches))


def multiply_chains(sections: list[Section], s: complex) -> np.ndarray:
    """Chain matrix [[A, B], [C, D]] of all sections at s [rad/s]."""
    chain = np.eye(2, dtype=complex)
    for section in sections:
        same, impedance, admittance = exact_two_port(s, *section)
        chain = chain @ np.array([[same, impedance], [admittance, same]])
    return chain


def survey_cables(case: Any) -> dict[str, dict]:
    """Every cable of a case by name, at the nominal voltage and rated frequency of its near end."""
    nodes = {node.name: node for node in case.nodes}
    return {cable.name: survey_cable(cable, nodes[cable.from_node].nominal_v, nodes[cable.from_node].frequency_hz)
            for cable in case.cables}


def survey_cable(cable: Any, volts: float, hz: float) -> dict:
    """Derived quantities of one cable.

    Parameters
    ----------
    cable : Record
    volts : float
        Line-to-line RMS. [V]
    hz : float
        Rated frequency. [Hz]

    Returns
    -------
    entry : dict
        Impedance, charging, rise, surge impedance and velocity at the rated frequency, the latter two for fronts
        as well (surge impedances are None when the sections differ); first_resonance_hz with the far end open and
        the near end short-circuited.
    """
    sections, s = list_sections(cable), 2j * np.pi * hz
    chain = multiply_chains(sections, s)
    z = sum(section.length * series_impedance(s, *section[1:3], section.branches) for section in sections)
    capacitance = total_capacitance(sections)
    current = charging_current(capacitance, hz, volts)
    return {"length_km": sum(section.length for section in sections) / 1e3,
            **describe_waves(sections, s),
            "resistance_ohm": z.real, "reactance_ohm": z.imag,
            "charging_current_a": current, "charging_mvar": charging_power(capacitance, hz, volts) / 1e6,
            "ferranti_rise_pct": 100.0 * (1.0 / abs(chain[0, 0]) - 1.0),
            "no_load_loss_kw": (chain[1, 0] / chain[0, 0]).real * volts**2 / 1e3,
            **describe_rating(cable, z.real, current)}


def describe_rating(cable: Any, resistance: float, charging: float) -> dict:
    """What follows from the ampacity; None without one."""
    ampacity = getattr(cable, "ampacity_a", None)
    if ampacity is None:
        return {"charging_share_of_ampacity_pct": None, "loss_at_ampacity_kw": None}
    return {"charging_share_of_ampacity_pct": 100.0 * charging / ampacity,
            "loss_at_ampacity_kw": 3.0 * ampacity**2 * resistance / 1e3}


def describe_waves(sections: list[Section], s: complex) -> dict:
    """Surge impedance and velocity at s [rad/s] and at high frequency, travel time of a front, quarter wave."""
    surge = [np.sqrt(section.inductance / section.capacitance) for section in sections]
    times = [section.length * np.sqrt(section.inductance * section.capacitance) for section in sections]
    slow = [find_inductance(section, s) for section in sections]
    slow_surge = [np.sqrt(inductance / section.capacitance) for inductance, section in zip(slow, sections)]
    slow_times = [section.length * np.sqrt(inductance * section.capacitance)
                  for inductance, section in zip(slow, sections)]
    peak = find_first_peak(lambda hz: 1.0 / abs(multiply_chains(sections, 2j * np.pi * hz)[0, 0]),
                           SCAN_SHARES / sum(times))
    length = sum(section.length for section in sections)
    return {"surge_impedance_ohm": find_common(slow_surge), "front_surge_impedance_ohm": find_common(surge),
            "velocity_km_per_s": length / sum(slow_times) / 1e3,
            "front_velocity_km_per_s": length / sum(times) / 1e3, "front_travel_time_us": 1e6 * sum(times),
            "first_resonance_hz": peak[0] if peak else None}


def find_inductance(section: Section, s: complex) -> float:
    """Inductance per metre at s [rad/s], with what the branches add. [H/m]"""
    return (series_impedance(s, *section[1:3], section.branches) / s).real


def find_common(values: list[float]) -> float | None:
    """The value that all sections share, None when they differ."""
    return values[0] if np.allclose(values, values[0], rtol=1e-6) else None


def total_capacitance(sections: list[Section]) -> float:
    """Positive-sequence capacitance of the whole cable. [F]"""
    return sum(section.length * section.capacitance for section in sections)


def find_charging(cables: list[Any], nominal: dict[str, float], hz: float) -> float:
    """Reactive power of some cables at nominal voltage. [var]"""
    return sum(charging_power(total_capacitance(list_sections(cable)), hz, nominal[cable.from_node])
               for cable in cables)
