"""What each kind of table is to the network: one row a kind, which every walk through the network reads."""

from dataclasses import dataclass, field

from sim.components.at_nodes.arrester import Arrester
from sim.components.at_nodes.fault import Fault
from sim.components.at_nodes.node import Node
from sim.components.at_nodes.reactor import Reactor
from sim.components.at_nodes.shunt import Shunt
from sim.components.branches.autotransformer import Autotransformer
from sim.components.branches.breaker import Breaker
from sim.components.branches.cable import Cable
from sim.components.branches.series_capacitor import SeriesCapacitor
from sim.components.branches.series_reactor import SeriesReactor
from sim.components.branches.transformer import Transformer
from sim.components.fields import Table
from sim.components.machines.machine import Machine
from sim.components.study.event import Event
from sim.components.supply.drive import Drive
from sim.components.supply.grid import Grid

AT, BETWEEN = ("node",), ("from_node", "to_node")


@dataclass(frozen=True)
class Kind:
    """What a kind of table is to the network.

    Attributes
    ----------
    table : type of Table
        Its declaration.
    records : str
        Attribute of a checked case that holds its records; an autotransformer becomes a transformer there.
    terminals : tuple of str
        Fields that name the nodes it stands at.
    is_component : bool
        Whether it has a name of its own, unlike a node's data and an event.
    makes_nodes : bool
        Whether these nodes come into being by being named there.
    carries : bool
        Whether current passes from one terminal to the other.
    keeps_voltage : bool
        Whether both terminals are of one rated voltage.
    has_turns : bool
        Whether windings set the ratio of the voltages at its terminals.
    feeds : bool
        Whether it is a source of its node.
    draws_at : str
        Dotted field that names a node of another island from which it takes what it feeds, empty for none.
    volts : dict
        Field that names a node -> dotted field that states the voltage there.
    rank : int
        Whose statement sets the nominal voltage of a zone: the least rank.
    has_service : bool
        Whether current passes there in service, unlike an arrester and a fault.
    is_graded : bool
        Whether its data count for the data grade of the machines it is joined to.
    closed : str
        Flag that tells its first position, empty where it has none.
    turned_on : str
        Order that makes it carry or feed; without a flag of its own it is off until the first such order, if any.
    turned_off : tuple of str
        What ends that: orders and trips.
    """

    table: type[Table]
    records: str
    terminals: tuple[str, ...] = ()
    is_component: bool = True
    makes_nodes: bool = True
    carries: bool = False
    keeps_voltage: bool = False
    has_turns: bool = False
    feeds: bool = False
    draws_at: str = ""
    volts: dict[str, str] = field(default_factory=dict)
    rank: int = 0
    has_service: bool = True
    is_graded: bool = True
    closed: str = ""
    turned_on: str = ""
    turned_off: tuple[str, ...] = ()


ROWS = {
    "node": Kind(Node, "nodes", is_component=False, makes_nodes=False, is_graded=False, volts={"name": "nominal_kv"}),
    "grid": Kind(Grid, "grids", AT, feeds=True, volts={"node": "rated_kv"}, rank=1),
    "drive": Kind(Drive, "drives", AT, feeds=True, draws_at="front_end.node", volts={"node": "rated_kv"}, rank=1,
                  turned_on="start", turned_off=("stop", "trip")),
    "transformer": Kind(Transformer, "transformers", BETWEEN, carries=True, has_turns=True,
                        volts={"from_node": "from_kv", "to_node": "to_kv"}, rank=2),
    "cable": Kind(Cable, "cables", BETWEEN, carries=True, keeps_voltage=True),
    "autotransformer": Kind(Autotransformer, "transformers", BETWEEN, carries=True, keeps_voltage=True,
                            has_turns=True),
    "series_reactor": Kind(SeriesReactor, "series_reactors", BETWEEN, carries=True, keeps_voltage=True),
    "series_capacitor": Kind(SeriesCapacitor, "series_capacitors", BETWEEN, carries=True, keeps_voltage=True),
    "breaker": Kind(Breaker, "breakers", BETWEEN, carries=True, keeps_voltage=True, closed="closed",
                    turned_on="close", turned_off=("open", "pole_open", "trip")),
    "shunt": Kind(Shunt, "shunts", AT),
    "reactor": Kind(Reactor, "reactors", AT, makes_nodes=False),
    "arrester": Kind(Arrester, "arresters", AT, makes_nodes=False, has_service=False, is_graded=False),
    "machine": Kind(Machine, "machines", AT, volts={"node": "motor.rated_kv"}, rank=3),
    "fault": Kind(Fault, "faults", AT, makes_nodes=False, has_service=False, is_graded=False),
    "event": Kind(Event, "events", is_component=False, makes_nodes=False, is_graded=False),
}
KINDS = {name: row.table for name, row in ROWS.items()}
COMPONENTS = tuple(name for name, row in ROWS.items() if row.is_component)
SOURCES = tuple(name for name, row in ROWS.items() if row.feeds)
LINKS = tuple(name for name, row in ROWS.items() if row.carries)
WITHIN_ZONE = tuple(name for name, row in ROWS.items() if row.keeps_voltage)
NODE_MAKERS = tuple(name for name, row in ROWS.items() if row.makes_nodes)
AT_MADE_NODES = tuple(name for name in COMPONENTS if name not in NODE_MAKERS)     # they stand where others make a node
