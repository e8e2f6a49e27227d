"""What an engineer checks before any simulation: the derived quantities of a case and its network.

Nothing is integrated.  Values come from the case's records and from the nodal matrix of the network itself,
so that several transformers, parallel cables and cables in sections are exact within the model.
"""

import math
from collections.abc import Callable
from typing import Any

import numpy as np

from sim.network.build import Network
from sim.studies.survey.cables import find_charging, survey_cables
from sim.studies.survey.motors import Row, list_rows, survey_machines
from sim.studies.survey.network import (
    HIGHEST_HZ,
    Island,
    build_bare_network,
    find_farthest,
    find_resonance,
    list_islands,
    survey_nodes,
    trace_paths,
)
from sim.studies.survey.transformers import find_magnetising, survey_transformers


def survey(case: Any) -> dict[str, dict[str, dict]]:
    """Derived network quantities of a case.

    Parameters
    ----------
    case : CheckedCase

    Returns
    -------
    survey : dict
        "cables", "transformers", "machines", "nodes" and "islands" (by the name of their source), each
        name -> {quantity with its unit: number}; None where a quantity cannot be said.

    Raises
    ------
    SolveError
        If a cable would need more oscillators than allowed.

    Valid for
    ---------
    Sinusoidal steady state, linear cores, balanced; breakers closed, machines not connected unless the
    quantity says otherwise, sources at rated voltage and frequency.

    Checked by
    ----------
    tests/studies
    """
    network = build_bare_network(case)
    parts = {"cables": survey_cables(case), "transformers": survey_transformers(case),
             "machines": survey_machines(case, network), "nodes": survey_nodes(case, network)}
    islands = {island.source.name: survey_island(case, network, island, parts["machines"])
               for island in list_islands(case, network)}
    return {group: {name: clean(entry) for name, entry in entries.items()}
            for group, entries in {**parts, "islands": islands}.items()}


def survey_island(case: Any, network: Network, island: Island, machines: dict[str, dict]) -> dict:
    """Resonance and reactive balance of what one source feeds."""
    paths = trace_paths(case, island.source.node)
    farthest = find_farthest(paths)
    highest = min(HIGHEST_HZ, network.bands.rest)
    here = [row for row in list_rows(case) if row.machine.node in paths]
    bare = find_resonance(network, island, farthest, highest)
    loaded = find_resonance(network, island, farthest, highest, block_rotors(network, here)) if here else None
    return {"frequency_hz": island.frequency_hz, "farthest_node": farthest,
            "first_resonance_hz": bare and bare[0], "first_resonance_gain": bare and bare[1],
            "first_resonance_with_motors_hz": loaded and loaded[0],
            "first_resonance_with_motors_gain": loaded and loaded[1],
            **balance(case, island, paths, [machines[row.machine.name] for row in here])}


def block_rotors(network: Network, rows: list[Row]) -> Callable[[float], dict[int, complex]]:
    """Admittances of machines at a frequency, rotors at standstill: what harmonics see of a motor."""
    def admit(hz: float) -> dict[int, complex]:
        loads: dict[int, complex] = {}
        for row in rows:
            node = network.node_names.index(row.machine.node)
            loads[node] = loads.get(node, 0.0) + row.find_admittance(hz, 1.0)
        return loads
    return admit


def balance(case: Any, island: Island, paths: dict[str, list], machines: list[dict]) -> dict:
    """Charging of the cables against what magnetises motors and transformers, at nominal voltage."""
    nominal = {node.name: node.nominal_v for node in case.nodes}
    cables = [cable for cable in case.cables if cable.from_node in paths]
    charging = find_charging(cables, nominal, island.frequency_hz) / 1e6
    motors = sum(machine["magnetising_mvar"] for machine in machines)
    cores = sum(find_magnetising(unit) for unit in case.transformers if unit.from_node in paths) / 1e6
    total = motors + cores
    return {"charging_mvar": charging, "motor_magnetising_mvar": motors, "transformer_magnetising_mvar": cores,
            "charging_to_magnetising_ratio": charging / total if total else None}


def clean(entry: dict) -> dict:
    """Plain numbers; what is not finite becomes None."""
    return {key: clean_value(value) for key, value in entry.items()}


def clean_value(value: Any) -> Any:
    """One number without the library's types."""
    if isinstance(value, (float, np.floating)):
        return float(value) if math.isfinite(value) else None
    return value
