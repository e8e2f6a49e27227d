"""The tables of a case file, one file per thing on the single-line diagram."""

from sim.components.arrester import Arrester
from sim.components.autotransformer import Autotransformer
from sim.components.breaker import Breaker
from sim.components.cable import Cable
from sim.components.criteria import Criteria
from sim.components.drive import Drive
from sim.components.event import Event
from sim.components.fault import Fault
from sim.components.grid import Grid
from sim.components.machine import Machine
from sim.components.node import Node
from sim.components.reactor import Reactor
from sim.components.series_reactor import SeriesReactor
from sim.components.shots import Shots
from sim.components.shunt import Shunt
from sim.components.study import Study
from sim.components.transformer import Transformer

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
