"""The network at rest: phasors from its own matrices, paths from the sources, resonances.

Every switch is closed and no machine is connected, unless a function says otherwise.  Voltages are
line-to-line RMS and admittances per phase of the star, as in `sim.network.tables`.
"""

from collections.abc import Callable
from dataclasses import replace
from typing import Any, NamedTuple

import numpy as np

from sim.kernels.columns import SOURCE_GRID
from sim.network.build import Network, build_network
from sim.network.tables import Machines
from sim.phasors.nodal import inject, nodal_matrix, spread
from sim.studies.survey.peaks import find_first_peak
from sim.topology import find_off_when_fed, list_members, trace_ways

LOWEST_HZ = 20.0
HIGHEST_HZ = 5000.0
SCAN_POINTS = 500        # 1.1 % from one frequency to the next


class Island(NamedTuple):
    """What one source feeds: its record, the island's number, its row among the sources, rated frequency."""

    source: Any
    number: int
    row: int
    frequency_hz: float
    is_grid: bool


def build_bare_network(case: Any) -> Network:
    """Network of a case without its machines and short circuits."""
    return build_network(replace(case, machines=[], faults=[]))


def build_machines(case: Any) -> Machines:
    """Table of the machines of a case; its cables, which take long, are left out."""
    return build_network(replace(case, cables=[])).tables.machines


def list_islands(case: Any, network: Network) -> list[Island]:
    """Islands in the order of their numbers."""
    records = {source.name: source for source in (*case.grids, *case.drives)}
    sources = network.tables.sources
    return [Island(records[network.source_names[row]], number, int(row), float(sources.w[row]) / (2.0 * np.pi),
                   bool(sources.kind[row] == SOURCE_GRID))
            for number, row in enumerate(network.tables.islands.source) if row >= 0]


def find_rated_s(network: Network) -> np.ndarray:
    """j w of each island at its rated frequency, shape (I,). [rad/s]"""
    return 1j * network.tables.islands.w


def find_emf(network: Network) -> np.ndarray:
    """Rated voltage behind the impedance of every source, shape (S,), complex. [V]"""
    sources = network.tables.sources
    return sources.volts * np.exp(1j * sources.phase)


def close_all(network: Network, but: str | None = None) -> np.ndarray:
    """Position of every switch: closed, except the one called `but`."""
    return np.array([name != but for name in network.switch_names], dtype=bool)


def close_as_fed(case: Any, network: Network, node: str) -> np.ndarray:
    """Position of every switch as a node first gets voltage; all closed where no order of the case gives it any."""
    off = find_off_when_fed(list_members(case), case.events, node)
    return close_all(network) if off is None else np.array([name not in off for name in network.switch_names], bool)


def solve_voltages(network: Network, s: np.ndarray, emf: np.ndarray, loads: dict[int, complex] | None = None,
                   closed: np.ndarray | None = None, fronts: bool = False) -> np.ndarray:
    """Voltage of every node.

    Parameters
    ----------
    network : Network
    s : ndarray, shape (I,), complex
        Complex frequency of each island. [rad/s]
    emf : ndarray, shape (S,), complex
        [V]
    loads : dict
        Row of a node -> admittance to earth. [S]
    closed : ndarray of bool, shape (Q,), optional
        Position of every switch; all closed by default.
    fronts : bool
        Front ends of drives as voltages behind their reactance, as harmonics see them; at rated frequency an idle one
        takes no current.

    Returns
    -------
    v : ndarray, shape (N,), complex
        [V]
    """
    y = nodal_matrix(network, s, close_all(network) if closed is None else closed, fronts=fronts)
    for node, admittance in (loads or {}).items():
        y[node, node] += admittance
    return np.linalg.solve(y, inject(network, s, emf))


def find_impedance(network: Network, node: int, closed: np.ndarray) -> complex:
    """Impedance seen from a node at rated frequency, for a position of every switch. [ohm]

    Sources are short-circuited, front ends without current.
    """
    y = nodal_matrix(network, find_rated_s(network), closed, fronts=False)
    return np.linalg.solve(y, np.eye(len(y))[node])[node]


def trace_paths(case: Any, start: str, opened: str | None = None) -> dict[str, list[Any]]:
    """Components between a node and every node it reaches, in order, over the fewest of them."""
    ways = trace_ways(list_members(case), start, {opened} if opened else ())
    return {node: [member.table for member in way] for node, way in ways.items()}


def find_farthest(paths: dict[str, list[Any]]) -> str:
    """Node at the end of the longest way through cables; of equals the one behind most components."""
    def reach(node: str) -> tuple[float, int]:
        return sum(getattr(link, "length_m", 0.0) for link in paths[node]), len(paths[node])
    return max(paths, key=reach)


def survey_nodes(case: Any, network: Network) -> dict[str, dict]:
    """No-load voltage of every node, and its rise against the source.

    Returns
    -------
    nodes : dict
        name -> no_load_kv, no_load_pu (of nominal), rise_pct (of nominal, against the voltage behind the
        source's impedance) and its parts: rise_in_cables_pct, along the cables on the way to the node, and
        rise_elsewhere_pct, in the impedance of source and transformers, by taps and ratios.
    """
    v = np.abs(solve_voltages(network, find_rated_s(network), find_emf(network)))
    pu = dict(zip(network.node_names, v / network.node_volts))
    entries = {}
    for island in list_islands(case, network):
        at_source = abs(find_emf(network)[island.row]) / nominal_of(network, island.source.node)
        for node, path in trace_paths(case, island.source.node).items():
            entries[node] = describe_rise(node, path, pu, at_source, nominal_of(network, node))
    return {node.name: entries[node.name] for node in case.nodes if node.name in entries}


def nominal_of(network: Network, node: str) -> float:
    """Nominal voltage of a node. [V]"""
    return float(network.node_volts[network.node_names.index(node)])


def describe_rise(node: str, path: list[Any], pu: dict[str, float], at_source: float, nominal: float) -> dict:
    """Entry of one node; `pu` holds the no-load voltage of all."""
    here, in_cables = node, 0.0
    for link in reversed(path):
        near = link.from_node if link.to_node == here else link.to_node
        if hasattr(link, "length_m"):
            in_cables += pu[here] - pu[near]
        here = near
    rise = pu[node] - at_source
    return {"no_load_kv": pu[node] * nominal / 1e3, "no_load_pu": pu[node], "rise_pct": 100.0 * rise,
            "rise_in_cables_pct": 100.0 * in_cables, "rise_elsewhere_pct": 100.0 * (rise - in_cables)}


def find_resonance(network: Network, island: Island, node: str, highest_hz: float,
                   admittance: Callable[[float], dict[int, complex]] | None = None) -> tuple[float, float] | None:
    """Lowest peak of the voltage transfer from an island's source to a node.

    Parameters
    ----------
    network : Network
    island : Island
    node : str
    highest_hz : float
        End of the scan, which begins at `LOWEST_HZ`. [Hz]
    admittance : callable, optional
        Frequency [Hz] -> {row of a node: admittance [S]} of what is connected besides.

    Returns
    -------
    frequency, gain : float
        [Hz] and voltage over that of the source, both per unit of nominal; None without a peak.
    """
    at = network.node_names.index(node)
    emf = np.zeros(len(network.source_names), dtype=complex)
    emf[island.row] = nominal_of(network, island.source.node)

    def transfer(hz: float) -> float:
        loads = admittance(hz) if admittance else None
        v = solve_voltages(network, spread(network, 2j * np.pi * hz), emf, loads, fronts=True)
        return abs(v[at]) / network.node_volts[at]
    return find_first_peak(transfer, np.geomspace(LOWEST_HZ, highest_hz, SCAN_POINTS))
