"""The nameplate of an induction motor, checked and brought per unit.

Per unit of this package: rated phase voltage and rated line current are 1, so the rated apparent input power is 1 and
impedances are over V^2/S.  The circuit of the motor holds stator copper, air gap and rotor; every other loss (iron,
friction, stray) is drawn at the terminals as a conductance core_loss/V^2.  So shaft power, speed, efficiency, power
factor and current of the rated point hold together exactly:

    P_in = P/eta,  P_gap = P/(1-s),  P_stator = 3 I_c^2 Rs,  core_loss = P_in - P_gap - P_stator

with I_c the current of the circuit, the line current less the conductance's.

Valid for
---------
Cage motors as on their nameplate: rated slip above zero, efficiency and power factor at rated power and voltage.

Sources
-------
.. [1] A. E. Fitzgerald, C. Kingsley, S. D. Umans, *Electric Machinery*, 6th ed., section 6.4: power balance.

Checked by
----------
tests/params/motor/test_fit.py
"""

from math import pi, sqrt
from typing import NamedTuple

from sim.params.motor.estimates import estimate_stator_copper_share

LEAST_OTHER_SHARE = 0.10    # of all losses that speed and efficiency must leave for stator, iron, friction [pu]
MOST_COPPER = 0.6           # of what the rotor leaves may be stator copper when Rs is estimated [pu]
MOST_SLIP = 0.2             # no motor is rated at more (common practice) [pu]


class FitError(ValueError):
    """Nameplate figures that no machine has at once; the message names them, what is possible and what to do."""


class Nameplate(NamedTuple):
    """What a nameplate and a data sheet say.

    Attributes
    ----------
    rated_power : float
        At the shaft. [W]
    voltage : float
        Rated, line to line. [V]
    frequency : float
        Rated. [Hz]
    poles : int
    rated_speed : float
        Below synchronous speed. [rad/s]
    efficiency, power_factor : float
        At rated power. [pu]  0 to 1
    locked_rotor_current : float or None
        At rated voltage. [pu of rated current]
    locked_rotor_torque, breakdown_torque : float or None
        At rated voltage. [pu of rated torque]
    stator_resistance : float or None
        Per phase of the star equivalent, warm. [ohm]  None: from the usual share of stator copper in all losses.
    locked_rotor_saturation : float
        Leakage reactances at standstill and full voltage over the unsaturated ones. [pu]  0.3 to 1
    """

    rated_power: float
    voltage: float
    frequency: float
    poles: int
    rated_speed: float
    efficiency: float
    power_factor: float
    locked_rotor_current: float | None = None
    locked_rotor_torque: float | None = None
    breakdown_torque: float | None = None
    stator_resistance: float | None = None
    locked_rotor_saturation: float = 1.0


class RatedPoint(NamedTuple):
    """Rated operation per unit.

    Attributes
    ----------
    slip : float
    current : complex
        Of the circuit, against the phase voltage.
    stator_resistance : float
    gap_power : float
        Through the air gap; rated torque times synchronous speed.
    conductance : float
        At the terminals.
    saturation : float
        Leakages at standstill over the unsaturated ones.
    """

    slip: float
    current: complex
    stator_resistance: float
    gap_power: float
    conductance: float
    saturation: float


def find_slip(nameplate: Nameplate) -> float:
    """Rated slip. [pu]"""
    return 1.0 - nameplate.rated_speed * nameplate.poles / (4.0 * pi * nameplate.frequency)


def find_rated_va(nameplate: Nameplate) -> float:
    """Rated apparent input power. [VA]"""
    return nameplate.rated_power / (nameplate.efficiency * nameplate.power_factor)


def find_base_ohm(nameplate: Nameplate) -> float:
    """Impedance that is 1 per unit. [ohm]"""
    return nameplate.voltage**2 / find_rated_va(nameplate)


def check_nameplate(nameplate: Nameplate) -> None:
    """Refuse a nameplate with values no motor can have, all at once.

    Raises
    ------
    FitError
    """
    mistakes = list(_list_mistakes(nameplate))
    if mistakes:
        raise FitError("nameplate: " + "; ".join(mistakes))


def find_rated_point(nameplate: Nameplate) -> RatedPoint:
    """Rated operation per unit, with the losses shared out.

    Raises
    ------
    FitError
        Speed, efficiency and stator resistance contradict each other.
    """
    slip, factor, efficiency = find_slip(nameplate), nameplate.power_factor, nameplate.efficiency
    gap = efficiency * factor / (1.0 - slip)
    left = factor - gap             # what the rotor leaves for stator copper and the rest
    losses = (1.0 - efficiency) * factor
    if left < LEAST_OTHER_SHARE * losses:
        raise FitError(_blame_speed(nameplate, slip, efficiency))
    reactive = sqrt(1.0 - factor**2)
    if nameplate.stator_resistance is None:
        copper = min(estimate_stator_copper_share(nameplate.rated_power).value * losses, MOST_COPPER * left)
        active = gap + copper
        resistance = copper / (active**2 + reactive**2)
    else:
        resistance = nameplate.stator_resistance / find_base_ohm(nameplate)
        active = _find_active_current(resistance, gap, reactive)
    if active is None or active > factor:
        raise FitError(_blame_resistance(nameplate, left))
    return RatedPoint(slip, complex(active, -reactive), resistance, gap, factor - active,
                      nameplate.locked_rotor_saturation)


def _find_active_current(resistance, gap, reactive):
    """Smaller root of a = gap + R (a^2 + b^2); None when the resistance lets no such power through."""
    inner = 1.0 - 4.0 * resistance * (gap + resistance * reactive**2)
    return 2.0 * (gap + resistance * reactive**2) / (1.0 + sqrt(inner)) if inner >= 0.0 else None


def _list_mistakes(plate):
    for name, unit in (("rated_power", "W"), ("voltage", "V"), ("frequency", "Hz"), ("rated_speed", "rad/s")):
        if not getattr(plate, name) > 0.0:
            yield f"{name} of {getattr(plate, name):g} {unit} must be above zero"
    for name in ("efficiency", "power_factor"):
        if not 0.0 < getattr(plate, name) < 1.0:
            yield f"{name} of {getattr(plate, name):g} must lie between 0 and 1"
    for name in ("locked_rotor_current", "locked_rotor_torque", "breakdown_torque", "stator_resistance"):
        value = getattr(plate, name)
        if value is not None and not value > 0.0:
            yield f"{name} of {value:g} must be above zero"
    for name in ("locked_rotor_current", "breakdown_torque"):
        value = getattr(plate, name)
        if value is not None and 0.0 < value <= 1.0:
            yield f"{name} of {value:g} must exceed the rated value, 1 pu"
    if not 0.3 <= plate.locked_rotor_saturation <= 1.0:
        yield f"locked_rotor_saturation of {plate.locked_rotor_saturation:g} must lie between 0.3 and 1"
    if (plate.locked_rotor_current is None) != (plate.locked_rotor_torque is None):
        yield "locked_rotor_current and locked_rotor_torque belong together: give or estimate the missing one"
    if plate.poles < 2 or plate.poles % 2:
        yield f"{plate.poles} poles: must be even and at least 2"
    elif plate.frequency > 0.0 and not 0.0 < find_slip(plate) <= MOST_SLIP:
        yield _blame_slip(plate)


def _blame_slip(plate):
    synchronous = 120.0 * plate.frequency / plate.poles
    return (f"rated speed of {_rpm(plate.rated_speed):.1f} rpm with {plate.poles} poles at {plate.frequency:g} Hz must "
            f"lie between {(1.0 - MOST_SLIP) * synchronous:g} and (not at) {synchronous:g} rpm: correct speed or poles")


def _blame_speed(plate, slip, efficiency):
    share = (1.0 - LEAST_OTHER_SHARE) * (1.0 / efficiency - 1.0)
    speed = 120.0 * plate.frequency / plate.poles / (1.0 + share)
    best = 1.0 / (1.0 + slip / (1.0 - slip) / (1.0 - LEAST_OTHER_SHARE))
    return (f"rated speed and efficiency contradict each other: a slip of {100 * slip:.2f} % loses "
            f"{100 * slip / (1 - slip):.2f} % of the shaft power in the rotor, all losses at an efficiency of "
            f"{efficiency:g} are {100 * (1 / efficiency - 1):.2f} %, and stator, iron and friction need their part. "
            f"Possible is a speed above {speed:.1f} rpm or an efficiency below {best:.4f}: correct one of the two")


def _blame_resistance(plate, left):
    most = left * find_base_ohm(plate)
    return (f"stator_resistance of {plate.stator_resistance:g} ohm contradicts efficiency and rated speed: they leave "
            f"room for at most about {most:.4g} ohm. Correct the resistance (per phase of the star equivalent; a third "
            "of a delta phase, half of the value between terminals) or leave it out to have it estimated")


def _rpm(speed):
    return speed * 30.0 / pi
