"""What components add to a network, row by row, before it becomes arrays."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from sim.network.tables import EARTH


@dataclass
class Parts:
    """Rows collected component by component; `finish` turns them into arrays."""

    study: Any = None           # settings that cables are sized by
    bands: dict[tuple[str, str], float] = field(default_factory=dict)   # of sections near a gap, by their ends [Hz]
    node_names: list[str] = field(default_factory=list)
    node_c: list[list[float]] = field(default_factory=list)
    node_g: list[list[float]] = field(default_factory=list)
    node_volts: list[float] = field(default_factory=list)
    node_island: list[int] = field(default_factory=list)
    links: list[dict] = field(default_factory=list)
    cables: list[dict] = field(default_factory=list)
    cable_rows: list[tuple] = field(default_factory=list)
    switches: list[dict] = field(default_factory=list)
    sources: list[dict] = field(default_factory=list)
    drives: list[np.ndarray] = field(default_factory=list)
    outputs: list[int] = field(default_factory=list)                # link of each drive's output
    pulses: list[np.ndarray] = field(default_factory=list)
    fronts: list[tuple[int, int]] = field(default_factory=list)     # link and node of each drive's front end, or -1
    machines: list[dict] = field(default_factory=list)
    ports: list[dict] = field(default_factory=list)
    cores: list[dict] = field(default_factory=list)

    def add_node(self, name: str, volts: float, island: int, stray: float) -> None:
        self.node_names.append(name)
        self.node_c.append([stray, stray])
        self.node_g.append([0.0, 0.0])
        self.node_volts.append(volts)
        self.node_island.append(island)

    def node(self, name: str) -> int:
        return self.node_names.index(name)

    def add_capacitance(self, name: str, positive: float, zero: float) -> None:
        row = self.node_c[self.node(name)]
        row[0] += positive
        row[1] += zero

    def add_conductance(self, name: str, positive: float, zero: float) -> None:
        row = self.node_g[self.node(name)]
        row[0] += positive
        row[1] += zero

    def add_link(self, name: str, **values: Any) -> int:
        """One series R-L-C branch; absent values are zero or earth."""
        link = dict(name=name, start=EARTH, end=EARTH, r=(0.0, 0.0), l=(0.0, 0.0), s=(0.0, 0.0),
                    wf=1.0, wt=-1.0, zf=1.0, zt=-1.0, volts=0.0)
        link.update(values)
        self.links.append(link)
        return len(self.links) - 1

    def add_switch(self, name: str, start: int, end: int = EARTH, g: float = 1e4, **values: Any) -> None:
        """Three poles; without more said they are those of a breaker that opens at its natural zero."""
        switch = dict(name=name, start=start, end=end, g=g, star=-1.0, chop=0.0, race=(0.0, 0.0, 0.0, np.inf),
                      closed=False, phases="abc")
        switch.update(values)
        self.switches.append(switch)

    def add_source(self, name: str, kind: int, unit: int, volts: float, w: float, link: int, node: int,
                   phase: float = 0.0) -> None:
        """Voltage behind a link at a node; `unit` is the drive it belongs to, -1 of a grid."""
        self.sources.append(dict(name=name, kind=kind, unit=unit, volts=volts, w=w, phase=phase, link=link, node=node))

    def add_ports(self, name: str, node: int, weights: np.ndarray, x: Sequence[float], i: Sequence[float],
                  link: int = -1, offsets: Sequence[float] = (0.0, 0.0, 0.0)) -> None:
        """One nonlinear element for each of three phases or limbs, all of one curve."""
        for weight, offset in zip(weights, offsets):
            self.ports.append(dict(name=name, node=node, link=link, weight=weight, offset=offset, x=x, i=i))
