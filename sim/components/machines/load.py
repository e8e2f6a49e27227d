"""The [machine.load] table: the torque the driven machine asks for."""

from typing import Annotated, Literal

from pydantic import Field

from sim.components.fields import Filled, Graded, quantity, setting
from sim.params.driven_machine import estimate_breakaway

Speeds = list[Annotated[float, Field(ge=0, le=300)]]
Torques = list[Annotated[float, Field(ge=0, le=1000)]]

BREAKAWAY_PCT = {
    "pump": Filled(15.0, "centrifugal pump at standstill, 15 to 20 % (common practice)"),
    "compressor": Filled(5.0, "magnetic bearings, about 5 % (common practice)"),
    "table": Filled(0.0, "the table says it all"),
    "none": Filled(0.0, "no driven machine"),
}
SERVICES = Literal["clean", "long_idle", "sandy", "waxy", "viscous", "magnetic_bearings", "downhole", "stuck"]
USED_BY = {
    **dict.fromkeys(("dip_pct", "dip_speed_pct", "discharge", "static_lift_pct", "closed_pct", "density_factor_pu",
                     "viscosity_factor_pu"), ("pump",)),
    **dict.fromkeys(("constant_pct", "settle_out_pct"), ("compressor",)),
    **dict.fromkeys(("speed_pct", "torque_pct"), ("table",)),
    "service": ("pump", "compressor"),
    **dict.fromkeys(("breakaway_pct", "duty_kw", "duty_rpm", "inertia_kgm2"), ("pump", "compressor", "table")),
}


class Load(Graded):
    """Torque against speed, on the duty point as base.

    Pump: from breakaway through a dip, then with the square of speed.  Compressor: a constant part and one
    with the square of speed.  Table: straight lines between points.
    """

    kind: Literal["pump", "compressor", "table", "none"] = setting("kind of driven machine", role="setting")
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
                               default=100.0, basis="full load", role="setting")
    service: SERVICES | None = setting("service that decides on the breakaway torque", None, "usual for its kind",
                                       role="setting")
    discharge: Literal["open", "closed"] = setting("discharge valve of a pump during the start", "open",
                                                   "common practice", role="setting")
    static_lift_pct: float = quantity("static part of a pump's head, of duty head", least=0, under=100, default=0.0,
                                      basis="friction head only")
    closed_pct: float = quantity("torque of a pump at duty speed with closed discharge, of duty torque", least=5,
                                 most=100, default=40.0, basis="30 to 50 % (common practice)")
    density_factor_pu: float = quantity("density of the liquid during the start, of that at the duty point",
                                        least=0.1, most=5, default=1.0, basis="duty liquid")
    viscosity_factor_pu: float = quantity("torque of viscous drag during the start, of that at the duty point",
                                          least=0.2, most=20, default=1.0, basis="duty liquid")
    settle_out_pct: float | None = quantity(
        "gas density of a compressor at settle-out pressure, of the density at the duty point", least=5, most=500,
        default=None, basis="duty density throughout")
    inertia_kgm2: float | None = quantity("moment of inertia of the driven machine, at motor speed", least=1e-4,
                                          most=1e6, default=None, basis="estimated from power and speed")


def is_used(key: str, kind: str) -> bool:
    """Whether a key of the table means anything for a kind of driven machine."""
    return key not in USED_BY or kind in USED_BY[key]


def find_defaults(load: Load, rated_kw: float, rated_rpm: float) -> dict[str, Filled]:
    """Defaults that follow from other values, by key."""
    return {"duty_kw": Filled(rated_kw, "rated power of the motor"),
            "duty_rpm": Filled(rated_rpm, "rated speed of the motor"),
            "breakaway_pct": find_breakaway(load)}


def find_breakaway(load: Load) -> Filled:
    """Breakaway torque by service where one is named, else by kind."""
    if load.service is None or not is_used("service", load.kind):
        return BREAKAWAY_PCT[load.kind]
    share, basis = estimate_breakaway(load.kind, load.service)
    return Filled(100.0 * share, basis)
