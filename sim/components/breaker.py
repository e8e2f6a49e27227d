"""The [[breaker]] table: three poles that open at current zero."""

from sim.components.fields import Component, Name, quantity, setting


class Breaker(Component):
    """Three-pole breaker; an open pole is perfectly open."""

    from_node: Name = setting("node of the first terminal", alias="from")
    to_node: Name = setting("node of the second terminal", alias="to")
    closed: bool = setting("position at the start of the run, true when closed", True,
                           "closed until told otherwise")
    contact_resistance_uohm: float = quantity("resistance of a closed pole", least=1e-3, most=1e5,
                                              default=50.0, basis="common practice")
