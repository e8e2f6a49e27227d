"""The [[shunt]] table: resistor, reactor, capacitor or a string of them from a node to its star point."""

from typing import Literal

from sim.components.fields import Component, Name, quantity, setting

PARTS = ("resistance_ohm", "inductance_mh", "capacitance_uf")


class Shunt(Component):
    """Star-connected elements per phase, side by side or in a string."""

    node: Name = setting("node the shunt hangs on")
    connection: Literal["parallel", "series"] = setting("way the parts are joined", "parallel",
                                                        "common practice", role="setting")
    resistance_ohm: float | None = quantity("resistance per phase", least=1e-6, most=1e9, default=None)
    inductance_mh: float | None = quantity("inductance per phase", least=1e-6, most=1e8, default=None)
    capacitance_uf: float | None = quantity("capacitance per phase", least=1e-9, most=1e5, default=None)
    earthed: bool = setting("whether the star point is earthed, true or false", True, "common practice", role="setting")
