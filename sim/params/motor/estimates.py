"""Usual values of an induction motor's nameplate where the nameplate is silent.

Every function returns an `Estimate`: the value in the unit stated and, in words, what it rests on.  Values between
the support points of a table are interpolated over the logarithm of the rated power and held constant beyond its
ends.

Valid for
---------
Three-phase cage motors of 1 kW to 30 MW run on the mains or on a sinusoidal supply.  Machines built for low voltage
drop, high static torque or operation in liquid differ; their own data go first.

Sources
-------
.. [1] NEMA MG 1, locked-rotor code letters in kVA per hp, torques of designs A to D, and 14.46 (load inertia).
.. [2] IEC 60034-12, starting performance of designs N and H; IEC 60034-30-1, efficiency classes (both from memory,
       to be checked).
.. [3] Common practice in start-up studies of medium-voltage motors.

Checked by
----------
tests/params/motor/test_estimates.py
"""

from math import log

from sim.params.estimate import Estimate
from sim.units import FOOT, HORSEPOWER, POUND

LB_FT2 = POUND * FOOT**2            # [kg m2]
LIGHTEST, HEAVIEST = 1e3, 3e7       # rated powers between which the tables hold [W]
LADDER = (1e3, 1e4, 1e5, 1e6, 1e7)  # rated powers of the support points [W]
EFFICIENCY = (0.82, 0.895, 0.945, 0.960, 0.970)
POWER_FACTOR = (0.78, 0.84, 0.86, 0.88, 0.90)
ROTOR_SHARE = (0.28, 0.24, 0.22, 0.20, 0.17)
STATOR_SHARE = (0.40, 0.36, 0.30, 0.25, 0.20)

# Typical figures, not the standards' limits; N and A are set so that one machine can have them all at a usual slip.
# Class: locked-rotor current [pu of rated current], locked-rotor torque, breakdown torque [pu of rated torque]
CLASSES = {
    None: (5.5, 0.75, 2.2),
    "N": (6.5, 1.3, 2.3),
    "H": (6.5, 2.0, 2.1),
    "A": (7.0, 1.5, 2.5),
    "B": (6.0, 1.25, 2.0),
    "C": (6.0, 2.25, 1.9),
    "D": (6.0, 2.75, 2.75),
}
CLASS_BASIS = {
    None: "medium-voltage motor of usual design, common practice",
    "N": "usual value of design N of IEC 60034-12, common practice, from memory, to be checked",
    "H": "usual value of design H of IEC 60034-12, common practice, from memory, to be checked",
    "A": "usual value of design A of NEMA MG 1, from memory, to be checked",
    "B": "usual value of design B of NEMA MG 1, from memory, to be checked",
    "C": "usual value of design C of NEMA MG 1, from memory, to be checked",
    "D": "usual value of design D of NEMA MG 1, from memory, to be checked",
}
# Upper ends of the ranges of locked-rotor kVA per hp [1]; V is open upwards, its lower end stands here.
CODE_LETTERS = {"A": 3.15, "B": 3.55, "C": 4.0, "D": 4.5, "E": 5.0, "F": 5.6, "G": 6.3, "H": 7.1, "J": 8.0, "K": 9.0,
                "L": 10.0, "M": 11.2, "N": 12.5, "P": 14.0, "R": 16.0, "S": 18.0, "T": 20.0, "U": 22.4, "V": 22.4}


def estimate_efficiency(rated_power: float) -> Estimate:
    """Efficiency at rated power. [pu]

    Parameters
    ----------
    rated_power : float
        At the shaft. [W]  1 kW to 30 MW

    Sources
    -------
    [3]; the lower end lies by the middle efficiency class of [2].
    """
    return _read_ladder(EFFICIENCY, rated_power)


def estimate_power_factor(rated_power: float, poles: int = 4) -> Estimate:
    """Power factor at rated power: by power, 0.01 less for each pole beyond four. [pu]

    Parameters
    ----------
    rated_power : float
        At the shaft. [W]  1 kW to 30 MW
    poles : int
        2 to 16; counted as 16 beyond.

    Sources
    -------
    [3]: the magnetising current grows with the number of poles.
    """
    value = _interpolate(POWER_FACTOR, rated_power) - 0.01 * (min(poles, 16) - 4)
    return Estimate(value, f"usual at {_kilowatts(rated_power)} and {poles} poles, common practice")


def estimate_rated_slip(rated_power: float, efficiency: float | None = None) -> Estimate:
    """Slip at rated power, from the rotor's usual share of all losses. [pu]

    The rotor loses s/(1-s) of the shaft power; a share k of all losses P (1/eta - 1) gives
    s/(1-s) = k (1/eta - 1).  The slip so found never contradicts the efficiency.

    Parameters
    ----------
    rated_power : float
        At the shaft. [W]  1 kW to 30 MW; not for high-slip rotors (NEMA design D: 5 % and more)
    efficiency : float, optional
        [pu]  0 to 1; that of `estimate_efficiency` when not known.

    Sources
    -------
    [3]
    """
    known = estimate_efficiency(rated_power).value if efficiency is None else efficiency
    share = _interpolate(ROTOR_SHARE, rated_power)
    loss = share * (1.0 / known - 1.0)
    return Estimate(loss / (1.0 + loss), f"rotor loss of {100 * share:.0f} % of all losses, common practice")


def estimate_stator_copper_share(rated_power: float) -> Estimate:
    """Stator copper loss over all losses at rated power [3]. [pu]

    Argument and validity as in `estimate_efficiency`.
    """
    return _read_ladder(STATOR_SHARE, rated_power)


def estimate_locked_rotor_current(design_class: str | None = None) -> Estimate:
    """Current at standstill and rated voltage. [pu of rated current]

    Parameters
    ----------
    design_class : str or None
        "N", "H" (IEC 60034-12, to 1600 kW), "A", "B", "C", "D" (NEMA MG 1, to about 500 hp) or None: medium-voltage
        motor of usual design.

    Raises
    ------
    ValueError
        Unknown class.

    Sources
    -------
    [1], [2], [3]
    """
    return _read_class(design_class, 0)


def estimate_locked_rotor_torque(design_class: str | None = None) -> Estimate:
    """Torque at standstill and rated voltage. [pu of rated torque]

    Classes, errors and validity as `estimate_locked_rotor_current`.  Large motors of designs N and B lie lower,
    small ones higher.
    """
    return _read_class(design_class, 1)


def estimate_breakdown_torque(design_class: str | None = None) -> Estimate:
    """Largest torque at rated voltage. [pu of rated torque]

    Classes, errors and validity as `estimate_locked_rotor_current`.  Design D has its largest torque at standstill.
    """
    return _read_class(design_class, 2)


def estimate_current_of_code_letter(letter: str, efficiency: float, power_factor: float) -> Estimate:
    """Locked-rotor current from the code letter of NEMA MG 1. [pu of rated current]

    The letter names a range of apparent power at standstill per shaft power; its upper end is taken.  Over the rated
    apparent power P/(eta pf) this is kVA/hp / 0.7457 * eta * pf.

    Parameters
    ----------
    letter : str
        A to V without I, O and Q.
    efficiency, power_factor : float
        At rated power. [pu]

    Raises
    ------
    ValueError
        Not a code letter.

    Sources
    -------
    [1]
    """
    key = letter.strip().upper()
    if key not in CODE_LETTERS:
        raise ValueError(f"code letter {letter!r} is unknown: allowed are {', '.join(CODE_LETTERS)}")
    ratio = CODE_LETTERS[key] * 1e3 / HORSEPOWER * efficiency * power_factor
    end = "lower end, open upwards," if key == "V" else "upper end"
    return Estimate(ratio, f"{CODE_LETTERS[key]:g} kVA/hp, {end} of code letter {key} of NEMA MG 1")


def estimate_motor_inertia(rated_power: float, poles: int) -> Estimate:
    """Moment of inertia of the rotor from power and poles. [kg m2]

    WK2 = 0.02 * 2^(p/2) * hp^(1.35 - 0.05 p/2) lb ft2 with p poles.

    Parameters
    ----------
    rated_power : float
        At the shaft. [W]  75 kW to 15 MW
    poles : int
        2 to 12

    Sources
    -------
    [1] 14.46 quoted second-hand, to be checked.
    """
    pairs = poles / 2
    inertia = 0.02 * 2.0**pairs * (rated_power / HORSEPOWER) ** (1.35 - 0.05 * pairs)
    return Estimate(inertia * LB_FT2, "by power and poles after NEMA MG 1 14.46, quoted second-hand, to be checked")


def _read_ladder(values, power):
    """Estimate that follows from the rated power alone."""
    return Estimate(_interpolate(values, power), f"usual at {_kilowatts(power)}, common practice")


def _interpolate(values, power):
    if not power > 0.0:
        raise ValueError(f"rated power of {power:g} W: must be above zero")
    position = min(max(log(power / LADDER[0]) / log(10.0), 0.0), len(LADDER) - 1.0)
    step = min(int(position), len(LADDER) - 2)
    return values[step] + (position - step) * (values[step + 1] - values[step])


def _kilowatts(power):
    """Rated power in words, with a warning outside the range of the tables."""
    beyond = "" if LIGHTEST <= power <= HEAVIEST else " (beyond the range of the table)"
    return f"{power / 1e3:g} kW{beyond}"


def _read_class(design_class, column):
    if design_class not in CLASSES:
        known = ", ".join(sorted(name for name in CLASSES if name))
        raise ValueError(f"design class {design_class!r} is unknown: allowed are {known} or none")
    return Estimate(CLASSES[design_class][column], CLASS_BASIS[design_class])
