"""The tables of a case file, one file per thing on the single-line diagram."""

from sim.components.breaker import Breaker
from sim.components.cable import Cable
from sim.components.criteria import Criteria
from sim.components.drive import Drive
from sim.components.event import Event
from sim.components.grid import Grid
from sim.components.machine import Machine
from sim.components.node import Node
from sim.components.shunt import Shunt
from sim.components.study import Study
from sim.components.transformer import Transformer

SINGLE = {"study": Study, "criteria": Criteria}
KINDS = {"node": Node, "grid": Grid, "drive": Drive, "transformer": Transformer, "cable": Cable,
         "breaker": Breaker, "shunt": Shunt, "machine": Machine, "event": Event}
SOURCES = ("grid", "drive")
LINKS = ("transformer", "cable", "breaker")

__all__ = ["KINDS", "LINKS", "SINGLE", "SOURCES"]
