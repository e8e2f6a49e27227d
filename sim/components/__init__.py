"""The tables of a case file, one file per thing on the single-line diagram."""

from sim.components.at_nodes.arrester import Arrester
from sim.components.at_nodes.fault import Fault
from sim.components.at_nodes.node import Node
from sim.components.at_nodes.reactor import Reactor
from sim.components.at_nodes.shunt import Shunt
from sim.components.branches.autotransformer import Autotransformer
from sim.components.branches.breaker import Breaker
from sim.components.branches.cable import Cable
from sim.components.branches.series_reactor import SeriesReactor
from sim.components.branches.transformer import Transformer
from sim.components.machines.machine import Machine
from sim.components.study.criteria import Criteria
from sim.components.study.event import Event
from sim.components.study.settings import Study
from sim.components.study.shots import Shots
from sim.components.supply.drive import Drive
from sim.components.supply.grid import Grid

SINGLE = {"study": Study, "criteria": Criteria, "shots": Shots}
OPTIONAL = ("shots",)      # single tables that mean something only where they are written
KINDS = {"node": Node, "grid": Grid, "drive": Drive, "transformer": Transformer, "cable": Cable,
         "autotransformer": Autotransformer, "series_reactor": SeriesReactor,
         "breaker": Breaker, "shunt": Shunt, "reactor": Reactor, "arrester": Arrester, "machine": Machine,
         "fault": Fault, "event": Event}
SOURCES = ("grid", "drive")
LINKS = ("transformer", "cable", "breaker", "autotransformer", "series_reactor")
WITHIN_ZONE = ("cable", "breaker", "autotransformer", "series_reactor")      # links that keep the rated voltage
ATTACHED = ("reactor", "arrester", "fault")     # they stand at a node that other components make

__all__ = ["ATTACHED", "KINDS", "LINKS", "OPTIONAL", "SINGLE", "SOURCES",
           "WITHIN_ZONE"]
