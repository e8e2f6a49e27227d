"""What one per unit of a signal is, from the ratings in the case."""

from math import nan, sqrt
from typing import Any

PHASES = ("_a", "_b", "_c")
SIDES = ("from", "to")


def find_bases(case: Any) -> dict[tuple[str, str], float]:
    """Base of every signal that has one.

    Parameters
    ----------
    case : CheckedCase

    Returns
    -------
    bases : dict
        ``bases[component or node, quantity]`` in the unit of the quantity: nominal voltage of a node, rated
        current, speed and torque of a machine, rated voltage, current and frequency of a drive, ampacity of
        a cable, rated current of a reactor, 1 for a flux.  Phase quantities and the displacement of a neutral are
        based on the crest of the rated value.

    Checked by
    ----------
    tests/store/test_bases.py
    """
    bases = {}
    for node in case.nodes:
        bases |= with_phases(node.name, "voltage", node.nominal_v, sqrt(2.0 / 3.0))
        bases[node.name, "voltage_zero"] = sqrt(2.0 / 3.0) * node.nominal_v
    for machine in case.machines:
        bases |= find_machine_bases(machine)
    for drive in case.drives:
        bases |= {(drive.name, "frequency"): drive.frequency_hz, (drive.name, "emf"): drive.rated_v}
        bases |= with_phases(drive.name, "current", drive.rated_va / (sqrt(3.0) * drive.rated_v), sqrt(2.0))
    for cable in case.cables:
        ampacity = nan if cable.ampacity_a is None else cable.ampacity_a
        bases |= {(cable.name, "current_from"): ampacity, (cable.name, "current_to"): ampacity}
    for reactor in getattr(case, "reactors", []):
        bases |= with_phases(reactor.name, "current", reactor.rated_var / (sqrt(3.0) * reactor.rated_v), sqrt(2.0))
    for transformer in case.transformers:
        for side in SIDES:
            bases |= with_phases(transformer.name, f"flux_{side}", 1.0, 1.0)
    return bases


def find_machine_bases(machine: Any) -> dict[tuple[str, str], float]:
    """Bases of one machine's signals."""
    motor, name = machine.motor, machine.name
    return {(name, "speed"): motor.rated_speed_rad_per_s, (name, "torque"): motor.rated_torque_nm,
            (name, "load_torque"): motor.rated_torque_nm,
            **with_phases(name, "current", motor.rated_current_a, sqrt(2.0))}


def with_phases(name: str, quantity: str, rated: float, crest: float) -> dict[tuple[str, str], float]:
    """Base of a magnitude and, `crest` times as large, of its phase quantities."""
    return {(name, quantity): rated} | {(name, quantity + phase): crest * rated for phase in PHASES}
