"""Figures of a check: how well fitted circuits and cables tell what they were fitted to."""

from collections.abc import Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np

from sim.cli.drawing.run import save_figures
from sim.params.cable.modes import series_impedance
from sim.results.fits import Reproduced, SequenceFit

# figures of a motor as its fit names them, and their keys in the data book
FIGURES = {"rated current": "rated_current_a", "power factor": "power_factor_pu", "efficiency": "efficiency_pu",
           "rated slip": "rated_rpm", "locked-rotor current": "locked_rotor_current_pct",
           "locked-rotor torque": "locked_rotor_torque_pct", "breakdown torque": "breakdown_torque_pct"}
NAMEPLATE = ("locked_rotor_current", "locked_rotor_torque", "breakdown_torque")
SEQUENCES = ("positive", "zero")


def draw_check(case: Any, directory: Path, fits: dict[str, dict]) -> list[Path]:
    """Draw every motor of a case, and every cable that was fitted to its construction.

    Parameters
    ----------
    case : CheckedCase
    directory : path
    fits : dict
        As `find_fits` gives them: under the path of a motor such as "booster.motor", {"figures": sequence of (name,
        target, reproduced, unit, error [%])}, named as in `FIGURES`; under the path of a cable or section, such as
        "umbilical" or "umbilical.section[1]", {"frequency_hz": (n,), "positive": (n,), "zero": (n,)}, the exact
        series impedance of both sequences [ohm/m].  What is absent was given, not fitted.

    Returns
    -------
    paths : list of Path
        "<case>_motor_<name>.png" and "<case>_cable_<name>.png", sections numbered.

    Raises
    ------
    StoreError
        When the figures cannot be written.
    """
    return save_figures((((case.name, *parts), draw) for parts, draw in
                         (*list_motors(case, fits), *list_cables(case, fits))), directory)


def find_fits(case: Any) -> dict[str, dict]:
    """What the fits of a case were made to: figures of nameplates, impedances of constructions by Bessel functions."""
    found = {f"{machine.name}.motor": {"figures": machine.motor.figures}
             for machine in case.machines if machine.motor.figures}
    for cable in case.cables:
        for k, section in enumerate(cable.sections, start=1):
            if section.design is not None:
                from sim.case.records.cable_constructions import sample_impedance

                path = f"{cable.name}.section[{k}]" if len(cable.sections) > 1 else cable.name
                found[path] = sample_impedance(section.construction)
    return found


def list_motors(case: Any, fits: dict[str, dict]) -> Iterator[tuple[tuple[str, ...], partial]]:
    """Parts of the file name of each motor, and what draws it."""
    from plots.starts.motor_fit import draw_motor

    for machine in case.machines:
        name, motor = machine.name, machine.motor
        origins = find_origins(case.used, f"{name}.motor")
        figures = [Reproduced(*row, origins[FIGURES[row[0]]])
                   for row in fits.get(f"{name}.motor", {}).get("figures", ())]
        yield (("motor", name),
               partial(draw_motor, name, motor, read_nameplate(motor), origins, figures, foot=foot(case)))


def find_origins(used: dict[str, dict], path: str) -> dict[str, str]:
    """For each key of a motor in the data book "given", "derived" from what was given, or "assumed": of grade D."""
    entries = {key: used[f"{path}.{key}"] for key in FIGURES.values() if f"{path}.{key}" in used}
    return {key: "assumed" if entry["grade"] == "D" else entry["origin"] for key, entry in entries.items()}


def read_nameplate(motor: Any) -> dict[str, float | None]:
    """Nameplate figures at standstill and breakdown, of rated current and torque; None where there is none. [%]"""
    found = {name: getattr(motor, f"{name}_pu", None) for name in NAMEPLATE}
    return {f"{name}_pct": None if value is None else 100.0 * value for name, value in found.items()}


def list_cables(case: Any, fits: dict[str, dict]) -> Iterator[tuple[tuple[str, ...], partial]]:
    """Parts of the file name of each fitted cable or section, and what draws it."""
    from plots.starts.cable_fit import draw_cable

    rated = {node.name: node.frequency_hz for node in case.nodes}
    for cable in case.cables:
        for k, section in enumerate(cable.sections, start=1):
            numbers = (str(k),) if len(cable.sections) > 1 else ()
            fit = fits.get(f"{cable.name}.section[{k}]" if numbers else cable.name)
            if fit is not None:
                frequency = np.asarray(fit["frequency_hz"], dtype=float)
                sequences = [SequenceFit(f"{name} sequence", np.asarray(fit[name]),
                                         find_impedance(getattr(section, name), frequency)) for name in SEQUENCES]
                yield (("cable", cable.name, *numbers),
                       partial(draw_cable, " ".join((cable.name, *(f"section {number}" for number in numbers))),
                               frequency, sequences, rated[cable.from_node], foot=foot(case)))


def find_impedance(line: Any, frequency: np.ndarray) -> np.ndarray:
    """Series impedance of one sequence as it is simulated, shape (n,). [ohm/m]"""
    branches: Sequence = list(zip(line.branch_resistance_ohm_per_m, line.branch_inductance_h_per_m))
    return series_impedance(2j * np.pi * frequency, line.resistance_ohm_per_m, line.inductance_h_per_m, branches)


def foot(case: Any) -> tuple[str, str]:
    """Notes at the foot of every figure."""
    return "steady state, no simulation", f"{case.name}  ·  case {case.sha256[:10]}"
