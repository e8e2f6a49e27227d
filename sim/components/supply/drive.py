"""The [[drive]] table: a variable-frequency supply, at the host or fed from another supply at the far end."""

from typing import Annotated, Literal

from pydantic import Field

from sim.components.fields import Component, Filled, Name, Table, quantity, setting
from sim.components.supply.drive_supply import DcLink, FrontEnd, Pulses

Points = Annotated[list[Annotated[float, Field(gt=0, le=36000)]], Field(max_length=4)]


class Stretch(Table):
    """A part of the ramp with a slope of its own."""

    to_hz: float = quantity("frequency up to which the slope holds", least=0.05, most=400, role="setting")
    ramp_hz_per_s: float = quantity("slope of the ramp up to there", least=1e-3, most=100, role="setting")


class Drive(Component):
    """V/f drive behind an output impedance, controlled by what it measures at its own terminals.

    The voltage follows rated_kv * frequency / frequency_hz; the boost is added to it, full at zero frequency
    and falling in a straight line to nothing at boost_end_hz.
    """

    node: Name = setting("node the drive feeds")
    rated_kv: float = quantity("rated line-to-line RMS output voltage", least=0.1, most=72.5, role="minor")
    rated_kva: float = quantity("rated apparent power", least=1, most=2e5)
    frequency_hz: float = quantity("rated output frequency", least=5, most=400, default=50.0,
                                   basis="common practice", role="setting")
    output_resistance_pct: float = quantity("resistance of the output filter on the drive's own base",
                                            least=0, most=20, default=0.5, basis="common practice")
    output_reactance_pct: float = quantity("reactance of the output filter on the drive's own base",
                                           least=0.01, most=50, default=3.0, basis="common practice")
    start_hz: float = quantity("frequency at which the drive starts", least=0.05, most=100, default=1.5,
                               basis="common practice, 0.5 to 3 Hz", role="setting")
    hold_s: float = quantity("time at the start frequency before the ramp", least=0, most=600, default=0.5,
                             basis="common practice", role="setting")
    ramp_hz_per_s: float = quantity("rate of the frequency ramp", least=1e-3, most=100, default=2.0,
                                    basis="common practice, 1 to 5 Hz/s", role="setting")
    stretch: list[Stretch] = Field(default_factory=list, max_length=4,
                                   description="parts of the ramp with a slope of their own, in order of frequency",
                                   json_schema_extra={"basis": "one slope, ramp_hz_per_s"})
    ramp_smoothing_s: float = quantity("time in which the slope of the ramp builds up and falls off (S-curve)",
                                       least=0, most=60, default=0.0, basis="straight ramp", role="setting")
    target_hz: float | None = quantity("frequency at the end of the ramp", least=0.05, most=400, default=None,
                                       basis="frequency_hz", role="setting")
    boost_pct: float = quantity("voltage added at zero frequency, of rated voltage", least=0, most=50,
                                default=0.0, basis="no boost", role="setting")
    boost_end_hz: float = quantity("frequency at which the boost has fallen to nothing", least=0.1, most=100,
                                   default=10.0, basis="common practice", role="setting")
    compensated_ohm: float = quantity(
        "resistance whose voltage drop the drive makes up for, referred to its output", least=0, most=1000,
        default=0.0, basis="no compensation", role="setting")
    compensation_max_pct: float = quantity("most voltage added for it, of rated voltage", least=0, most=50,
                                           default=10.0, basis="common practice", role="setting")
    slip_compensation_hz: float = quantity("frequency added at rated current, all of it active", least=0, most=10,
                                           default=0.0, basis="no slip compensation", role="setting")
    compensation_filter_ms: float = quantity("time constant of the measured current behind either compensation",
                                             least=0.1, most=10000, default=200.0, basis="common practice",
                                             role="setting")
    voltage_max_pct: float = quantity("voltage ceiling, of rated voltage", least=10, most=130, default=100.0,
                                      basis="rated voltage", role="setting")
    voltage_rise_s: float = quantity("time over which the voltage comes up after a start", least=0, most=60,
                                     default=0.3, basis="common practice", role="setting")
    current_limit_pct: float = quantity("current limit, of rated current", least=10, most=400, default=110.0,
                                        basis="common practice: normal duty, 110 % for 60 s", role="setting")
    current_filter_ms: float = quantity("time constant of the current measurement", least=0.1, most=1000,
                                        default=20.0, basis="common practice: one cycle at 50 Hz", role="setting")
    limit_action: Literal["hold", "bend"] = setting(
        "what the current limit does to the ramp: hold it, or bend it back", "hold", "common practice", role="setting")
    stall_s: float = quantity("time at the current limit after which the drive trips", least=0.01, most=3600,
                              default=10.0, basis="common practice", role="setting")
    overload_pct: Points = setting("currents of the overload curve, of rated current, rising", [],
                                   "no overload curve: the current limit and stall_s stand alone", role="setting")
    overload_s: Points = setting("time each of these currents is allowed", [], "no overload curve", role="setting")
    overload_recovery_s: float = quantity("time at or below rated current that restores the full overload", least=1,
                                          most=36000, default=600.0, basis="common practice: once in ten minutes",
                                          role="setting")
    overcurrent_trip_pct: float | None = quantity("current at which the pulses are blocked at once, of rated current",
                                                  least=50, most=1000, default=None, basis="no such trip",
                                                  role="setting")
    catch_spinning: bool = setting("whether a start looks for the speed of a motor that still turns, true or false",
                                   False, "starts at standstill", role="setting")
    catch_hz_per_s: float = quantity("slope of the frequency while it looks", least=0.1, most=1000, default=5.0,
                                     basis="common practice: seconds for the whole range", role="setting")
    catch_voltage_pct: float = quantity("share of the V/f line while it looks", least=0.5, most=100, default=10.0,
                                        basis="common practice", role="setting")
    restart_delay_s: float | None = quantity("time after a trip at which the drive starts by itself", least=0.01,
                                             most=3600, default=None, basis="a trip is final", role="setting")
    restarts: int = quantity("number of such starts", least=1, most=20, default=1, basis="common practice",
                             role="setting")
    earthed: bool = setting("whether the output neutral is earthed, true or false", False,
                            "drives feed an unearthed winding (common practice)", role="setting")
    dc_link: DcLink | None = setting("direct-voltage link", None, "a supply that gives any power")
    pulses: Pulses | None = setting("pulse pattern of the output", None, "the fundamental alone")
    front_end: FrontEnd | None = setting("front end that feeds the link from another supply", None,
                                         "a supply that gives any power")


def find_defaults(drive: Drive) -> dict[str, Filled]:
    """Defaults that follow from other values, by key."""
    return {"target_hz": Filled(drive.frequency_hz, "frequency_hz")}


def list_idle(drive: Drive) -> tuple[str, ...]:
    """Fields that mean nothing in this drive."""
    idle = []
    if not (drive.compensated_ohm or drive.slip_compensation_hz):
        idle.append("compensation_filter_ms")
    if not drive.compensated_ohm:
        idle.append("compensation_max_pct")
    if not drive.overload_pct:
        idle += ["overload_pct", "overload_s", "overload_recovery_s"]
    if not drive.catch_spinning:
        idle += ["catch_hz_per_s", "catch_voltage_pct"]
    if drive.restart_delay_s is None:
        idle.append("restarts")
    return tuple(idle)
