"""The tables of a case file, one file per thing on the single-line diagram."""

from sim.components.fields import Table
from sim.components.kinds import KINDS
from sim.components.study.criteria import Criteria
from sim.components.study.settings import Study
from sim.components.study.shots import Shots

SINGLE: dict[str, type[Table]] = {"study": Study, "criteria": Criteria, "shots": Shots}
OPTIONAL = ("shots",)      # single tables that mean something only where they are written

__all__ = ["KINDS", "OPTIONAL", "SINGLE"]
