"""The [machine.load] table: the torque the driven machine asks for."""

from typing import Annotated, Literal

from pydantic import Field

from sim.components.fields import Filled, Grade, Table, quantity, setting

Speeds = list[Annotated[float, Field(ge=0, le=300)]]
Torques = list[Annotated[float, Field(ge=0, le=1000)]]

BREAKAWAY_PCT = {
    "pump": Filled(15.0, "centrifugal pump at standstill, 15 to 20 % (common practice)"),
    "compressor": Filled(5.0, "magnetic bearings, about 5 % (common practice)"),
    "table": Filled(0.0, "the table says it all"),
    "none": Filled(0.0, "no driven machine"),
}
USED_BY = {"dip_pct": ("pump",), "dip_speed_pct": ("pump",), "constant_pct": ("compressor",),
           "speed_pct": ("table",), "torque_pct": ("table",),
           "breakaway_pct": ("pump", "compressor", "table"), "duty_kw": ("pump", "compressor", "table"),
           "duty_rpm": ("pump", "compressor", "table")}


class Load(Table):
    """Torque against speed, on the duty point as base.

    Pump: from breakaway through a dip, then with the square of speed.  Compressor: a constant part and one
    with the square of speed.  Table: straight lines between points.
    """

    kind: Literal["pump", "compressor", "table", "none"] = setting("kind of driven machine")
    duty_kw: float | None = quantity("shaft power at the duty point", least=0.01, most=2e5, default=None,
                                     basis="rated power of the motor")
    duty_rpm: float | None = quantity("speed at the duty point", least=1, most=24000, default=None,
                                      basis="rated speed of the motor")
    breakaway_pct: float | None = quantity("torque to leave standstill, of duty torque", least=0, most=500,
                                           default=None, basis="pump 15 %, compressor 5 %, table 0 %")
    dip_pct: float = quantity("lowest torque of a pump once it turns, of duty torque", least=0, under=100,
                              default=8.0, basis="common practice, 5 to 10 %")
    dip_speed_pct: float = quantity("speed of the lowest torque of a pump, of duty speed", least=0.1, most=90,
                                    default=15.0, basis="common practice")
    constant_pct: float = quantity("torque of a compressor that does not depend on speed, of duty torque",
                                   least=0, most=100, default=10.0, basis="common practice")
    speed_pct: Speeds | None = setting("speeds of the torque table, of duty speed, ascending from 0", None)
    torque_pct: Torques | None = setting("torques of the torque table, of duty torque", None)
    load_pct: float = quantity("multiplier of the torque at the start of the run", least=0, most=300,
                               default=100.0, basis="full load")
    grade: Grade | None = setting("grade of the driven machine's data", None, "grade of the machine")


def is_used(key: str, kind: str) -> bool:
    """Whether a key of the table means anything for a kind of driven machine."""
    return key not in USED_BY or kind in USED_BY[key]


def find_defaults(load: Load, rated_kw: float, rated_rpm: float) -> dict[str, Filled]:
    """Defaults that follow from other values, by key."""
    return {"duty_kw": Filled(rated_kw, "rated power of the motor"),
            "duty_rpm": Filled(rated_rpm, "rated speed of the motor"),
            "breakaway_pct": BREAKAWAY_PCT[load.kind]}
