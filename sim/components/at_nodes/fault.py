"""The [[fault]] table: phases joined to earth or to each other from a moment on."""

from typing import Literal

from sim.components.fields import Name, Table, quantity, setting


class Fault(Table):
    """A short circuit at a node or along a cable; cleared, each phase goes out at its next current zero."""

    name: Name = setting("name of the fault, unique in the case")
    at_s: float = quantity("time of the fault", least=0, most=36000)
    node: Name | None = setting("node the fault is at", None, "along a cable")
    cable: Name | None = setting("cable the fault is on", None, "at a node")
    at_km: float | None = quantity("distance of the fault from the cable's `from` end", least=0, most=500,
                                   default=None, basis="at a node")
    phases: Literal["a", "b", "c", "ab", "bc", "ca", "abc"] = setting("phases the fault joins")
    earth: bool = setting("whether the fault goes to earth, true or false", True, "most faults do (common practice)")
    resistance_ohm: float = quantity("resistance from each phase to the point of the fault", least=0, most=1e6,
                                     default=0.0, basis="a solid fault")
    earth_resistance_ohm: float = quantity("resistance from the point of the fault to earth", least=0, most=1e6,
                                           default=0.0, basis="a solid fault")
    clear_s: float | None = quantity("time from which the arc goes out at current zeros", least=0, most=36000,
                                     default=None, basis="the fault stays")
