"""Assemble the network of a checked case: names, bases and the arrays of `sim.network.tables`."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from sim.kernels.columns import (
    DRIVE_COLUMNS,
    KNEES,
    LINK_FARADS,
    LOAD_COLUMNS,
    MONITOR_CORE,
    MONITOR_DRIVE,
    MONITOR_FRONT,
    PULSE_COLUMNS,
)
from sim.network.bands import Bands, choose_bands, list_moves
from sim.network.cables import size_cables
from sim.network.gaps import Surge, find_surges
from sim.network.layout import make_layout
from sim.network.parts import Parts
from sim.network.stamps import STAMPS
from sim.network.tables import (
    Cables,
    Cores,
    Drives,
    Islands,
    Links,
    Machines,
    Monitors,
    Nodes,
    Ports,
    Sources,
    Switches,
    Tables,
)


@dataclass(frozen=True)
class Network:
    """A case as the engines see it.

    Attributes
    ----------
    tables : Tables
    node_names, link_names, cable_names, switch_names, source_names, machine_names : tuple of str
        Row names of the tables, in order; cables by component, however many sections they have.
    cable_rows : ndarray of int, shape (cables, 2)
        First and last row of each cable in the tables, one for each section.
    drive_names : tuple of str
    port_names : tuple of str
        Of each port: an arrester or reactor, or "<transformer>.core_from" and "core_to" as its link.
    phases : tuple of str
        Poles that operate of each switch: "abc", fewer of a fault.
    faults : tuple of int
        Switches that are faults.
    node_volts : ndarray, shape (N,)
        Nominal line-to-line RMS voltage of each node. [V]
    link_volts : ndarray, shape (B,)
        Rated voltage behind a link (a core's winding), 0 where it has none. [V]
    power : float
        Base power for error weights, the largest machine or source-fed rating. [VA]
    machine_amps : ndarray, shape (A,)
        Rated current of each machine as a space vector: sqrt(3) times its RMS. [A]
    target_hz : ndarray, shape (D,)
        First frequency order of each drive. [Hz]
    load_factor : ndarray, shape (A,)
        First load multiplier of each machine.
    closed : ndarray of bool, shape (Q,)
        First position of each switch; a drive's own switch (its pulses) starts open.
    bands : Bands
        Frequencies that its switching excites, and those that it holds.
    surges : dict of str to Surge
        Of every breaker whose gap has its strength given.
    """

    tables: Tables
    node_names: tuple
    link_names: tuple
    cable_names: tuple
    cable_rows: np.ndarray
    switch_names: tuple
    source_names: tuple
    drive_names: tuple
    machine_names: tuple
    port_names: tuple
    phases: tuple
    faults: tuple
    node_volts: np.ndarray
    link_volts: np.ndarray
    power: float
    machine_amps: np.ndarray
    target_hz: np.ndarray
    load_factor: np.ndarray
    closed: np.ndarray
    bands: Bands
    surges: dict[str, Surge]

    @property
    def node_w(self) -> np.ndarray:
        """Rated angular frequency of each node's island, shape (N,). [rad/s]"""
        return self.tables.islands.w[self.tables.nodes.island]

    @property
    def link_w(self) -> np.ndarray:
        """Of each link's island, shape (B,). [rad/s]"""
        return self.tables.islands.w[self.tables.links.island]

    @property
    def switch_w(self) -> np.ndarray:
        """Of the island of each switch, shape (Q,). [rad/s]"""
        return self.node_w[self.tables.switches.start]


def build_network(case: Any) -> Network:
    """Network of a checked case.

    Parameters
    ----------
    case : CheckedCase

    Returns
    -------
    Network

    Raises
    ------
    SolveError
        If a cable would need more oscillators than allowed.
    """
    parts = Parts()
    for node in case.nodes:
        parts.add_node(node.name, node.nominal_v, node.island, node.stray_f)
    for records, stamp in STAMPS.items():
        for record in getattr(case, records):
            stamp(parts, record)
    surges = find_surges(parts, case.breakers)
    bands = choose_bands(parts, case.study.bandwidth_hz, list_moves(case), case.study.band_factor, surges)
    size_cables(parts, bands.cable, case.study.cable_error_pu)
    return _finish(parts, case, bands, surges)


def _finish(parts: Parts, case: Any, bands: Bands, surges: dict[str, Surge]) -> Network:
    rated_hz = {node.island: node.frequency_hz for node in case.nodes}
    tables = _tables(parts, rated_hz)
    ratings = [m.motor.rated_w / (m.motor.efficiency_pu * m.motor.power_factor_pu) for m in case.machines]
    ratings += [d.rated_va for d in case.drives]
    fallback = [1e-3 * g.short_circuit_va for g in case.grids] or [1e6]
    return Network(
        tables=tables,
        node_names=tuple(parts.node_names),
        link_names=tuple(link["name"] for link in parts.links),
        cable_names=tuple(name for name, *_ in parts.cable_rows),
        cable_rows=np.array([rows for _, *rows in parts.cable_rows], dtype=np.int64).reshape(-1, 2),
        switch_names=tuple(switch["name"] for switch in parts.switches),
        source_names=tuple(source["name"] for source in parts.sources),
        drive_names=tuple(drive.name for drive in case.drives),
        machine_names=tuple(machine["name"] for machine in parts.machines),
        port_names=tuple(port["name"] for port in parts.ports),
        phases=tuple(switch["phases"] for switch in parts.switches),
        faults=tuple(q for q, switch in enumerate(parts.switches) if switch["star"] >= 0.0),
        node_volts=np.array(parts.node_volts),
        link_volts=np.array([link["volts"] for link in parts.links]),
        power=max(ratings or fallback),
        machine_amps=np.array([np.sqrt(3.0) * machine.motor.rated_current_a for machine in case.machines]),
        target_hz=np.array([drive.target_hz for drive in case.drives]),
        load_factor=np.array([machine["load_factor"] for machine in parts.machines]),
        closed=np.array([switch["closed"] for switch in parts.switches], dtype=bool),
        bands=bands,
        surges=surges,
    )


def _pairs(rows: Sequence[Any]) -> np.ndarray:
    """Two-row array from (positive, zero) pairs."""
    return np.array(rows, dtype=float).reshape(len(rows), 2).T.copy()


def _integers(rows: Sequence[Any], key: str) -> np.ndarray:
    return np.array([row[key] for row in rows], dtype=np.int64)


def _floats(rows: Sequence[Any], key: str) -> np.ndarray:
    return np.array([row[key] for row in rows], dtype=float)


def _bends(rows: Sequence[dict]) -> tuple[np.ndarray, np.ndarray]:
    """Knees and what each adds, shape (n, KNEES): the unused ones are out of reach and add nothing."""
    knee, excess = np.full((len(rows), KNEES), np.inf), np.zeros((len(rows), KNEES))
    for k, row in enumerate(rows):
        count = len(row["knees"])
        knee[k, :count], excess[k, :count] = row["knees"], row["added"]
    return knee, excess


def _slices(lengths: Sequence[int]) -> np.ndarray:
    return np.concatenate(([0], np.cumsum(lengths, dtype=np.int64))).astype(np.int64)


def _modes(cables: Sequence[dict], pick: Callable[[Any], np.ndarray]) -> np.ndarray:
    """(2, n) array of one property of all oscillators or Foster branches, cable after cable."""
    if not cables:
        return np.zeros((2, 0))
    return np.concatenate([np.stack([pick(cable["positive"]), pick(cable["zero"])]) for cable in cables], axis=1)


def _tables(parts: Parts, rated_hz: dict[int, float]) -> Tables:
    links, cables, sources, machines = parts.links, parts.cables, parts.sources, parts.machines
    island = np.array(parts.node_island, dtype=np.int64)
    link_island = island[np.maximum(_integers(links, "start"), _integers(links, "end"))]
    cable_island = island[_integers(cables, "start")]
    machine_island = island[_integers(machines, "node")]
    counts = [len(cable["positive"].sigma) for cable in cables]
    mode_island = np.repeat(cable_island, counts)
    branches = [len(cable["positive"].branch_rate) for cable in cables]
    fosters = [count * number for count, number in zip(counts, branches)]
    column = np.concatenate([island, link_island, link_island, mode_island, mode_island,
                             np.repeat(cable_island, fosters), machine_island.repeat(3)])
    return Tables(
        nodes=Nodes(_pairs(parts.node_c), _pairs(parts.node_g), island),
        links=Links(_integers(links, "start"), _integers(links, "end"), _pairs([b["r"] for b in links]),
                    _pairs([b["l"] for b in links]), _pairs([b["s"] for b in links]),
                    np.array([b["wf"] for b in links], complex), np.array([b["wt"] for b in links], complex),
                    _floats(links, "zf"), _floats(links, "zt"), link_island),
        cables=Cables(_integers(cables, "start"), _integers(cables, "end"), _slices(counts),
                      _pairs([(c["positive"].end_capacitance, c["zero"].end_capacitance) for c in cables]),
                      cable_island,
                      _modes(cables, lambda m: m.sigma), _modes(cables, lambda m: m.weight_from),
                      _modes(cables, lambda m: m.weight_to),
                      _modes(cables, lambda m: np.full_like(m.sigma, m.series_rate)),
                      _modes(cables, lambda m: np.full_like(m.sigma, m.shunt_rate)),
                      _slices(branches), _slices(fosters), _modes(cables, lambda m: m.branch_rate),
                      _modes(cables, lambda m: m.branch_coupling)),
        switches=Switches(_integers(parts.switches, "start"), _integers(parts.switches, "end"),
                          _floats(parts.switches, "g"), _floats(parts.switches, "star"),
                          _floats(parts.switches, "chop"),
                          np.array([q["race"] for q in parts.switches], dtype=float).reshape(-1, 4)),
        sources=Sources(_integers(sources, "kind"), _integers(sources, "unit"), _floats(sources, "volts"),
                        _floats(sources, "w"), _floats(sources, "phase"), _integers(sources, "link"),
                        island[_integers(sources, "node")]),
        drives=_drives(parts, link_island, island),
        machines=Machines(_integers(machines, "node"), np.array([m["gamma"] for m in machines]).reshape(-1, 3, 3),
                          np.array([m["r"] for m in machines]).reshape(-1, 3),
                          _floats(machines, "pairs"), np.array([m["leak"] for m in machines]).reshape(-1, 3),
                          _floats(machines, "whole"), *_bends(machines),
                          _floats(machines, "j"),
                          np.array([m["train"] for m in machines]).reshape(-1, 3), machine_island,
                          np.array([m["load"] for m in machines]).reshape(len(machines), LOAD_COLUMNS),
                          _slices([len(m["table"][0]) for m in machines]),
                          np.concatenate([m["table"][0] for m in machines] + [np.zeros(0)]),
                          np.concatenate([m["table"][1] for m in machines] + [np.zeros(0)])),
        ports=_ports(parts.ports),
        cores=Cores(_integers(parts.cores, "link"), *_bends(parts.cores)),
        islands=Islands(*_frames(parts, island), column,
                        2.0 * np.pi * np.array([rated_hz[k] for k in range(len(rated_hz))], dtype=float)),
        monitors=_monitors(parts),
        layout=make_layout(len(island), len(links), len(mode_island), sum(fosters), len(machines), len(parts.drives),
                           len(parts.cores)),
    )


def _drives(parts: Parts, link_island: np.ndarray, island: np.ndarray) -> Drives:
    """Rows of all drives; link, node and island of a front end are -1 where a drive has none."""
    outputs = np.array(parts.outputs, dtype=np.int64)
    return Drives(np.array(parts.drives, dtype=float).reshape(len(parts.drives), DRIVE_COLUMNS),
                  np.array(parts.pulses, dtype=float).reshape(len(parts.drives), PULSE_COLUMNS),
                  outputs, link_island[outputs], *_fronts(parts.fronts, island))


def _monitors(parts: Parts) -> Monitors:
    """A row for each drive, each front end and each core, in this order."""
    rows = [(MONITOR_DRIVE, l) for l in range(len(parts.drives))]
    rows += [(MONITOR_FRONT, l) for l, data in enumerate(parts.drives) if data[LINK_FARADS] > 0.0]
    rows += [(MONITOR_CORE, k) for k in range(len(parts.cores))]
    return Monitors(*(column.copy() for column in np.array(rows, dtype=np.int64).reshape(-1, 2).T))


def _fronts(fronts: Sequence[tuple[int, int]], island: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Link, node and island of every drive's front end, -1 where it has none."""
    link, node = np.array(fronts, dtype=np.int64).reshape(-1, 2).T
    return link.copy(), node.copy(), np.where(node >= 0, island[node], -1) if len(node) else node.copy()


def _ports(ports: Sequence[dict]) -> Ports:
    return Ports(_integers(ports, "node"), _integers(ports, "link"),
                 np.array([port["weight"] for port in ports], dtype=float).reshape(-1, 3), _floats(ports, "offset"),
                 _slices([len(port["x"]) for port in ports]),
                 np.concatenate([port["x"] for port in ports] + [np.zeros(0)]),
                 np.concatenate([port["i"] for port in ports] + [np.zeros(0)]))


def _frames(parts: Parts, island: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Per island: the source that sets its frame, and the heaviest machine for when no source is live."""
    count = int(island.max()) + 1 if len(island) else 0
    source, machine = np.full(count, -1, dtype=np.int64), np.full(count, -1, dtype=np.int64)
    for k, row in enumerate(parts.sources):
        source[island[row["node"]]] = k
    for k, row in enumerate(parts.machines):
        here = island[row["node"]]
        if machine[here] < 0 or row["j"] > parts.machines[machine[here]]["j"]:
            machine[here] = k
    return source, machine
