"""The [[node]] table: what a point of the network is built for."""

from sim.components.fields import Graded, Name, quantity, setting


class Node(Graded):
    """A junction of the network; it comes into being by being named, the table only adds data."""

    name: Name = setting("name of the node, as the components use it")
    nominal_kv: float | None = quantity("nominal line-to-line RMS voltage of the node", least=0.1, most=800,
                                        default=None, basis="follows from the equipment joined there", role="setting")
    um_kv: float | None = quantity("highest voltage for equipment, line-to-line RMS (IEC 60071-1)", least=0.1,
                                   most=800, default=None, role="minor")
    lightning_withstand_kv: float | None = quantity(
        "lightning impulse withstand voltage, peak phase to earth", least=0.5, most=2500, default=None, role="minor")
    stray_nf: float = quantity("stray capacitance to earth per phase (bushings, connectors, busbars)",
                               least=0.01, most=1e4, default=1.0, basis="common practice: a bushing or two",
                               role="minor")
