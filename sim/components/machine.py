"""The [[machine]] table: motor, shaft and driven machine."""

from sim.components.fields import Component, Grade, Name, Table, quantity, setting
from sim.components.load import Load
from sim.components.motor import Motor


class Shaft(Table):
    """All that turns, as one stiff mass."""

    inertia_kgm2: float = quantity("moment of inertia of motor and driven machine together, at motor speed",
                                   least=1e-3, most=1e6)
    grade: Grade | None = setting("grade of the inertia", None, "grade of the machine")


class Machine(Component):
    """Induction motor with its driven machine."""

    node: Name = setting("node the motor is fed from")
    motor: Motor = setting("motor of the machine")
    shaft: Shaft = setting("shaft of the machine")
    load: Load = setting("driven machine")
