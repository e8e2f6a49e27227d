"""The [[machine]] table: motor, shaft and driven machine."""

from pydantic import Field

from sim.components.fields import Component, Graded, Name, quantity, setting
from sim.components.machines.load import Load
from sim.components.machines.motor import Motor

TRAIN = ("stiffness_knm_per_rad", "length_m")       # either makes motor and driven machine two masses


class Shaft(Graded):
    """One stiff mass; two masses when the shaft between motor and driven machine is given."""

    inertia_kgm2: float | None = quantity(
        "moment of inertia of motor and driven machine together, at motor speed", least=1e-3, most=1e6,
        default=None, basis="motor and driven machine added")
    stiffness_knm_per_rad: float | None = quantity(
        "torsional stiffness between motor and driven machine", least=1e-5, most=1e6, default=None,
        basis="stiff, unless length_m and diameter_mm are given")
    damping_nms_per_rad: float | None = quantity(
        "damping of the twist between motor and driven machine", least=0, most=1e6, default=None,
        basis="1 % of critical damping (common practice, 0.5 to 2 %)", role="minor")
    length_m: float | None = quantity("length of the shaft between motor and driven machine", least=0.01, most=200,
                                      default=None, basis="stiff")
    diameter_mm: float | None = quantity("diameter of that shaft, solid steel", least=1, most=2000, default=None,
                                         basis="stiff")


class Machine(Component):
    """Induction motor with its driven machine."""

    node: Name = setting("node the motor is fed from")
    motor: Motor = setting("motor of the machine")
    shaft: Shaft = Field(default_factory=Shaft, description="shaft of the machine")
    load: Load = setting("driven machine")


def has_train(shaft: Shaft) -> bool:
    """Whether motor and driven machine are two masses."""
    return any(getattr(shaft, key) is not None for key in TRAIN)
