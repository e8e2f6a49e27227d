"""The [[breaker]] table: three poles with their own times, which interrupt at a zero of the current."""

from typing import Annotated

from pydantic import Field

from sim.components.fields import Component, Filled, Graded, Name, quantity, setting
from sim.params.voltage_classes import find_class, find_impulse_level

Delays = Annotated[list[Annotated[float, Field(ge=0, le=1000)]], Field(min_length=3, max_length=3)]

INSERTION = ("insertion_ohm", "insertion_ms")
RACE = "recovery_rise_kv_per_ms"        # given, the gap races against the recovery voltage
RACE_ONLY = ("recovery_start_kv", "recovery_most_kv", "quench_a_per_us")


class SoftStart(Graded):
    """Pairs of thyristors in the place of contacts: each pole fires in every half cycle, later or sooner.

    An order to close starts the firing at start_angle_deg after the zeros of the phase voltages at the first node; the
    angle falls in a straight line to end_angle_deg over ramp_s, then the poles stay closed (bypass).
    """

    start_angle_deg: float = quantity("firing angle at the order to close, after the phase voltage's zero", least=0,
                                      most=150, default=110.0, basis="common practice, 100 to 120 degrees")
    end_angle_deg: float = quantity("firing angle at the end of the ramp, where the bypass closes", least=0, most=150,
                                    default=30.0, basis="below the angle of any motor's current: full voltage")
    ramp_s: float = quantity("time from the first angle to the last", least=0.02, most=600, default=10.0,
                             basis="common practice, 5 to 30 s")
    gate_deg: float | None = quantity(
        "length of a gate pulse, over which a pole conducts again past a zero; beyond 60 degrees two poles are always "
        "fired at once", least=5, most=150, default=None,
        basis="pulse trains to 5 degrees before the zero of the phase voltage, at least 62 degrees (common practice)")


class Breaker(Component):
    """Three-pole breaker; an open pole is perfectly open."""

    from_node: Name = setting("node of the first terminal", alias="from")
    to_node: Name = setting("node of the second terminal", alias="to")
    closed: bool = setting("position at the start of the run, true when closed", True,
                           "closed until told otherwise", role="setting")
    contact_resistance_uohm: float = quantity("resistance of a closed pole", least=1e-3, most=1e5,
                                              default=50.0, basis="common practice", role="minor")
    closing_delays_ms: Delays = setting("delay of poles a, b and c after an order to close", [0.0, 0.0, 0.0],
                                        "all poles close at once", role="setting")
    opening_delays_ms: Delays = setting("delay of poles a, b and c from an order to open until the contacts part",
                                        [0.0, 0.0, 0.0], "all poles part at once", role="setting")
    closing_angle_deg: float | None = quantity(
        "angle of the first node's phase-a voltage, from its rising zero, at which pole a closes", least=0, most=360,
        default=None, basis="closes at the time ordered", role="setting")
    scatter_ms: float = quantity("spread of a pole's closing time either way, three standard deviations", least=0,
                                 most=100, default=5.0, basis="common practice for closings at random", role="minor")
    insertion_ohm: float | None = quantity("closing resistor of a pole", least=1e-3, most=1e6, default=None,
                                           basis="no closing resistors", role="minor")
    insertion_ms: float | None = quantity("time the closing resistor carries alone", over=0, most=1000, default=None,
                                          basis="no closing resistors", role="minor")
    chopping_a: float = quantity("current below which a waiting pole interrupts ahead of its zero", least=0, most=100,
                                 default=0.0, basis="every pole waits for its own current zero", role="minor")
    recovery_start_kv: float = quantity("voltage an open gap stands as the contacts part, peak", least=0, most=1000,
                                        default=0.0, basis="the gap starts from nothing", role="minor")
    recovery_rise_kv_per_ms: float | None = quantity(
        "rise of the voltage the opening gap stands", over=0, most=1e4, default=None,
        basis="an open gap stands any voltage", role="minor")
    recovery_most_kv: float | None = quantity(
        "voltage the fully open gap stands, peak", over=0, most=5000, default=None,
        basis="lightning impulse withstand of the rated voltage; no ceiling outside 3.6 to 145 kV", role="minor")
    quench_a_per_us: float = quantity(
        "steepest slope of a current zero at which the opening gap still interrupts", over=0, most=1e5, default=600.0,
        basis="vacuum gaps 100 to 700 A/us (literature, from memory, to be checked)", role="minor")
    rated_kv: float | None = quantity("rated voltage, line-to-line RMS", least=0.1, most=800, default=None,
                                      basis="um_kv of its node, else the class next above its voltage", role="minor")
    soft_start: SoftStart | None = setting("soft starter in the place of contacts", None, "contacts")


def find_defaults(breaker: Breaker, nominal_kv: float, um_kv: float | None) -> dict[str, Filled]:
    """Rated voltage by what its node is built for, highest voltage for equipment, else nominal voltage; what the fully
    open gap stands by the rated voltage. [kV]"""
    rated = Filled(find_class(nominal_kv), "class next above the nominal voltage of its node (IEC 60071-1)", "derived")
    if um_kv is not None:
        rated = Filled(um_kv, "um_kv of its node", "derived")
    ceiling = find_ceiling(rated.value if breaker.rated_kv is None else breaker.rated_kv, breaker.recovery_start_kv)
    return {"rated_kv": rated} | ({} if ceiling is None else {"recovery_most_kv": ceiling})


def find_ceiling(rated_kv: float, start_kv: float) -> Filled | None:
    """What a fully open gap stands, at the least what it stood as it parted; None where no level is held.

    A new gap stands more, by its test up to a quarter; one that has carried arcs less (from memory, to be checked).
    """
    level = find_impulse_level(rated_kv)
    if level is None:
        return None
    return Filled(max(level[1], start_kv), f"lowest lightning impulse withstand of class {level[0]:g} kV (IEC 60071-1)")


def list_idle(breaker: Breaker) -> tuple[str, ...]:
    """Keys that mean nothing because the gap does not race against the recovery voltage."""
    return () if getattr(breaker, RACE) is not None else RACE_ONLY
