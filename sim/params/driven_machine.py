"""Torque-speed tables of driven machines from their duty point.

Speeds and torques are per unit of the duty point.  A table runs from standstill to 1.2 of duty speed and is
meant for straight lines between its points; for duty liquid and gas it is 1.0 at duty speed.

Centrifugal pump.  From breakaway the torque falls by a parabola to the dip at speed a; above it

    T = dip + (closed - dip) u + (1 - closed) F          u = (n^2 - a^2) / (1 - a^2)

`closed` is the torque at duty speed against a closed discharge and F the share of the flow.  Without static
lift F = u, which leaves dip + (1 - dip) u.  With a static lift h (share of duty head) and a shut-off head k
(likewise) head follows k n^2 - (k - 1) q^2 and the system h + (1 - h) q^2, so that the flow

    q = sqrt((k n^2 - h) / (k - h))

starts at n = sqrt(h / k).  Shaft torque at a given speed grows in proportion to the flow (radial wheels), so
F = q n, counted from its value at a.

Compressor.  T = c + (1 - c) d(n) n^2 with c what bearings and seals ask for and d the gas density against that
of the duty point: that of settle-out up to `OPENING_SPEED` while the machine runs on recycle, then back to 1
at duty speed as the discharge check opens.

Valid for
---------
Quasi-steady start: no inertia of the liquid column, no reverse flow, no gas in the liquid, radial wheels
(the torque of mixed- and axial-flow wheels falls with the flow).  The density law of the compressor is a shape
between two known ends, not a process simulation.

Sources
-------
Torque with the square of speed above a dip, closed-discharge torque of 30 to 50 % at duty speed, no flow until
the shut-off head exceeds the static head: common practice.  Affinity laws (head ~ n^2, flow ~ n at similar
points): any text on centrifugal pumps.
"""

from math import sqrt
from typing import NamedTuple

from sim.params.estimate import Estimate

FASTEST = 1.2               # last speed of a table, of duty speed [pu]
SHUT_OFF_HEAD = 1.2         # head without flow, of duty head (common practice, 1.1 to 1.3) [pu]
CLOSED_TORQUE = 0.4         # closed-discharge torque at duty speed (common practice, 0.3 to 0.5) [pu]
OPENING_SPEED = 0.7         # least running speed, where the discharge check opens (common practice) [pu]
FADE_SPEED = 0.02           # speed at which the breakaway excess of a compressor has gone [pu]

PUMP_SERVICES = {
    "clean": (0.15, "clean liquid, started often: 15 to 20 % (common practice)"),
    "magnetic_bearings": (0.05, "no bearing in contact: about 5 % (common practice)"),
    "downhole": (0.30, "many stages and a thrust bearing: 30 % (common practice)"),
    "long_idle": (0.30, "idle for months: 30 to 60 % (common practice)"),
    "viscous": (0.40, "viscous liquid in the clearances: 30 to 60 % (common practice)"),
    "sandy": (0.50, "sand in the clearances: 30 to 60 % (common practice)"),
    "waxy": (0.60, "wax or gelled liquid: 30 to 60 % (common practice)"),
    "stuck": (1.00, "stuck shaft: 100 % and more (common practice)"),
}
COMPRESSOR_SERVICES = PUMP_SERVICES | {
    "clean": (0.05, "magnetic bearings, about 5 % (common practice)"),
    "long_idle": (0.15, "shaft and seals at rest for months, 10 to 20 % (common practice)"),
    "downhole": (0.15, "contact bearings, 10 to 20 % (common practice)"),
}
SERVICES = {"pump": PUMP_SERVICES, "compressor": COMPRESSOR_SERVICES}


class TorqueTable(NamedTuple):
    """Ascending speeds and the torques there, both per unit of the duty point."""

    speeds: list[float]
    torques: list[float]


def estimate_breakaway(kind: str, service: str) -> Estimate:
    """Torque to leave standstill, from words for the service.

    Parameters
    ----------
    kind : str
        "pump" or "compressor".
    service : str
        A key of `SERVICES[kind]`.

    Returns
    -------
    breakaway : Estimate
        Of duty torque. [pu]

    Raises
    ------
    ValueError
        For an unknown kind or service.
    """
    if service not in SERVICES.get(kind, {}):
        known = "; ".join(f"{name}: {', '.join(words)}" for name, words in SERVICES.items())
        raise ValueError(f"no breakaway torque is known for a {kind} in service {service!r}. Known are {known}.")
    return Estimate(*SERVICES[kind][service])


def pump_curve(breakaway: float, dip: float, dip_speed: float, discharge: str = "open", static_lift: float = 0.0,
               closed_torque: float = CLOSED_TORQUE, shut_off_head: float = SHUT_OFF_HEAD, density: float = 1.0,
               viscosity: float = 1.0) -> TorqueTable:
    """Torque-speed table of a centrifugal pump.

    Parameters
    ----------
    breakaway, dip : float
        Torque at standstill and lowest torque once it turns, of duty torque. [pu]  >= 0, dip < 1
    dip_speed : float
        Speed of the lowest torque, of duty speed. [pu]  0 < dip_speed < 1
    discharge : str
        "open" for flow to the duty point, "closed" for none at any speed; `static_lift` then does not matter.
    static_lift : float
        Static part of the head, of duty head. [pu]  0 <= static_lift <= 1
    closed_torque : float
        Torque at duty speed with closed discharge, of duty torque. [pu]  > 0
    shut_off_head : float
        Head at duty speed without flow, of duty head. [pu]  > 1
    density : float
        Density of the liquid over that of the duty point; multiplies the hydraulic part. [pu]  > 0
    viscosity : float
        Friction over that of the duty point; multiplies breakaway and the constant part. [pu]  > 0
        A coarse aid: what viscosity adds to disc friction and takes from the head is not modelled.

    Returns
    -------
    table : TorqueTable
        44 points, 54 with static lift; straight lines between them are within 1e-3 of duty torque of the law,
        2e-3 where the flow sets in.  1.0 at duty speed for duty liquid and open discharge.

    Raises
    ------
    ValueError
        When an argument is out of its range.
    """
    check_pump(breakaway, dip, dip_speed, discharge, static_lift, closed_torque, shut_off_head, density, viscosity)
    share = 1.0 - closed_torque if discharge == "open" else 0.0
    speeds = list_pump_speeds(dip_speed, static_lift if share else 0.0, shut_off_head)
    torques = [closed_discharge(n, breakaway, dip, dip_speed, closed_torque)
               + share * flow_share(n, dip_speed, static_lift, shut_off_head) for n in speeds]
    top = closed_torque + share
    friction = max((dip - top * dip_speed**2) / (1.0 - dip_speed**2), 0.0)
    for k, n in enumerate(speeds):
        at = torques[k] if n >= dip_speed else dip
        hydraulic = max(at - friction, 0.0) * min(n / dip_speed, 1.0) ** 2
        torques[k] = viscosity * (torques[k] - hydraulic) + density * hydraulic
    return TorqueTable(speeds, torques)


def check_pump(breakaway, dip, dip_speed, discharge, static_lift, closed_torque, shut_off_head, density, viscosity):
    """Raise a ValueError that lists every argument of `pump_curve` out of its range."""
    checks = [(breakaway >= 0.0, f"breakaway = {breakaway:g} must be >= 0"),
              (0.0 <= dip < 1.0, f"dip = {dip:g} must be >= 0 and < 1"),
              (0.0 < dip_speed < 1.0, f"dip_speed = {dip_speed:g} must be > 0 and < 1"),
              (discharge in ("open", "closed"), f"discharge = {discharge!r} must be 'open' or 'closed'"),
              (0.0 <= static_lift <= 1.0, f"static_lift = {static_lift:g} must be >= 0 and <= 1"),
              (closed_torque > 0.0, f"closed_torque = {closed_torque:g} must be > 0"),
              (shut_off_head > 1.0, f"shut_off_head = {shut_off_head:g} must be > 1"),
              (density > 0.0, f"density = {density:g} must be > 0"),
              (viscosity > 0.0, f"viscosity = {viscosity:g} must be > 0")]
    mistakes = [text for is_sound, text in checks if not is_sound]
    if mistakes:
        raise ValueError("; ".join(mistakes))


def closed_discharge(n: float, breakaway: float, dip: float, dip_speed: float, closed_torque: float) -> float:
    """Torque of a pump without flow at a speed n. [pu]"""
    if n < dip_speed:
        return dip + (breakaway - dip) * (1.0 - n / dip_speed) ** 2
    return dip + (closed_torque - dip) * (n * n - dip_speed**2) / (1.0 - dip_speed**2)


def flow(n: float, static_lift: float, shut_off_head: float) -> float:
    """Flow at a speed n, of duty flow; nothing until the shut-off head exceeds the static lift. [pu]"""
    head = shut_off_head * n * n - static_lift
    return sqrt(head / (shut_off_head - static_lift)) if head > 0.0 else 0.0


def flow_share(n: float, dip_speed: float, static_lift: float, shut_off_head: float) -> float:
    """Torque that goes with the flow: flow times speed, 0 up to the dip and 1 at duty. [pu]"""
    at_dip = dip_speed * flow(dip_speed, static_lift, shut_off_head)
    return max(n * flow(n, static_lift, shut_off_head) - at_dip, 0.0) / (1.0 - at_dip)


def list_pump_speeds(dip_speed: float, static_lift: float, shut_off_head: float) -> list[float]:
    """Speeds of a pump's table: dense where the law bends, with the dip, the onset of flow and duty among them."""
    onset = sqrt(static_lift / shut_off_head)
    is_later = onset > 1.01 * dip_speed             # closer than that the points would all but coincide
    start = onset if is_later else dip_speed
    speeds = spread(0.0, dip_speed, 18) + (spread(dip_speed, start, 10)[1:] if is_later else [])
    return speeds + (spread_flow(start, static_lift, shut_off_head) if static_lift
                     else spread(start, 1.0, 20)[1:]) + spread(1.0, FASTEST, 5)[1:]


def compressor_curve(constant: float, breakaway: float, settle_out: float = 1.0) -> TorqueTable:
    """Torque-speed table of a centrifugal compressor started from settle-out pressure.

    Parameters
    ----------
    constant : float
        Torque that does not depend on speed, of duty torque. [pu]  0 <= constant <= 1
    breakaway : float
        Torque at standstill, of duty torque; the excess over `constant` fades over 2 % of speed. [pu]  >= 0
    settle_out : float
        Gas density at settle-out over that at the duty point: below 1 when the machine equalises to less than
        its suction pressure (20 to 40 % at full speed is met, common practice), above 1 when to more. [pu]  > 0

    Returns
    -------
    table : TorqueTable

    Raises
    ------
    ValueError
        When an argument is out of its range.
    """
    if not (0.0 <= constant <= 1.0 and breakaway >= 0.0 and settle_out > 0.0):
        raise ValueError(f"constant = {constant:g} must be >= 0 and <= 1, breakaway = {breakaway:g} >= 0, "
                         f"settle_out = {settle_out:g} > 0")
    speeds = (spread(0.0, FADE_SPEED, 14) + spread(FADE_SPEED, OPENING_SPEED, 16)[1:]
              + spread(OPENING_SPEED, 1.0, 16)[1:] + spread(1.0, FASTEST, 5)[1:])
    excess = max(breakaway - constant, 0.0)
    torques = [constant + (1.0 - constant) * gas_density(n, settle_out) * n * n
               + excess * max(1.0 - n / FADE_SPEED, 0.0) ** 2 for n in speeds]
    return TorqueTable(speeds, torques)


def gas_density(n: float, settle_out: float) -> float:
    """Gas density at a speed n, of that at the duty point: settle-out, then a smooth step to 1. [pu]"""
    x = min(max((n - OPENING_SPEED) / (1.0 - OPENING_SPEED), 0.0), 1.0)
    return settle_out + (1.0 - settle_out) * x * x * (3.0 - 2.0 * x)


def spread(first: float, last: float, count: int) -> list[float]:
    """Equal steps from first to last, both included exactly."""
    return [first + (last - first) * k / count for k in range(count)] + [last]


def spread_flow(start: float, static_lift: float, shut_off_head: float) -> list[float]:
    """Speeds from `start`, left out, to duty, set by steps of flow: it sets in like a root of speed."""
    first = flow(start, static_lift, shut_off_head)
    flows = [first + (1.0 - first) * s**1.5 for s in spread(0.0, 1.0, 20)[1:-1]]
    return [sqrt((q * q * (shut_off_head - static_lift) + static_lift) / shut_off_head) for q in flows] + [1.0]
