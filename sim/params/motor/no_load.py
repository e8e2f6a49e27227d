r"""No-load curve of an induction motor: from terminal voltage and current to the flux of the main path, and back.

At no load the rotor turns at synchronous speed and carries no current.  The main path draws i, a right angle behind
its voltage E; the stator adds its drop, and a conductance G at the terminals the losses outside the circuit:

    V = E + (R_s + j X_s)(-j i),   E = sqrt(V^2 - (R_s i)^2) - X_s i
    I = G V - j i (E turned to V),   I^2 = (G V)^2 + i^2 (1 + 2 G R_s)

Voltages are between lines and currents line currents, RMS; i sqrt(3) X_m = E on the straight part.  The flux of the
main path is E over angular frequency, its per-unit base rated voltage over rated angular frequency.

Beyond its straight part the path follows dead zones side by side,

    i sqrt(3) X_m = E + sum of added_j max(E - knee_j, 0).

Valid for
---------
Sinusoidal voltage of rated frequency, the rotor at synchronous speed; leakage that does not saturate.  The current of
a test holds harmonics and the losses of the test; both are 90 degrees or a few per cent away.

Sources
-------
.. [1] A. E. Fitzgerald, C. Kingsley, S. D. Umans, *Electric Machinery*, 6th ed., section 6.6: the no-load test.
.. [2] IEC 60034-2-1 and IEEE 112, no-load test: voltage taken from about 125 % down to where the current rises
       again (from memory, to be checked).
"""

from collections.abc import Sequence
from math import sqrt
from typing import NamedTuple

HALVINGS = 60
STRAIGHT_FLUX = 0.6     # of rated: iron of motors is straight up to there (common practice) [pu]
STRAIGHT_APART = 0.03   # of current: what two points of a straight line may differ by in a test


class Stator(NamedTuple):
    """What lies between the terminals and the main path.

    Attributes
    ----------
    resistance, reactance : float
        Star equivalent at rated frequency. [ohm]
    conductance : float
        At the terminals, of all losses outside the circuit: their power over the square of rated voltage. [S]
    rated_voltage : float
        Between lines. [V]
    """

    resistance: float
    reactance: float
    conductance: float
    rated_voltage: float


class MainPath(NamedTuple):
    """Main path of a motor.

    Attributes
    ----------
    reactance : float
        Unsaturated, at rated frequency. [ohm]
    knees : tuple of float
        Flux at which each dead zone ends, ascending, of rated flux. [pu]
    added : tuple of float
        Inverse inductance each adds beyond its knee, of the unsaturated inverse inductance. [pu]
    """

    reactance: float
    knees: tuple[float, ...]
    added: tuple[float, ...]


class Point(NamedTuple):
    """A point of the main path: flux [pu of rated] and sqrt(3) times its current over rated voltage [S]."""

    flux: float
    susceptance: float


def bend_once(knee: float, saturated: float) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Knees and what they add for two straight lines: the knee [pu of rated flux] and the slope of the inductance
    beyond it over the unsaturated one [pu]."""
    return (knee,), (1.0 / saturated - 1.0,)


def find_points(voltages: Sequence[float], currents: Sequence[float], stator: Stator) -> list[Point]:
    """Points of the main path behind the stator.

    Parameters
    ----------
    voltages, currents : sequence of float
        No-load curve: between lines [V], line current [A], RMS.
    stator : Stator

    Returns
    -------
    list of Point

    Raises
    ------
    ValueError
        For a point whose current is less than the losses take, or whose stator drop takes all of the voltage.
    """
    points = []
    for volts, amps in zip(voltages, currents):
        rest = 3.0 * amps**2 - (stator.conductance * volts) ** 2
        own = sqrt(max(rest, 0.0) / (1.0 + 2.0 * stator.conductance * stator.resistance))
        gap = sqrt(max(volts**2 - (stator.resistance * own) ** 2, 0.0)) - stator.reactance * own
        if rest <= 0.0 or gap <= 0.0:
            reason = ("is less than the losses outside the circuit take" if rest <= 0.0 else
                      "drops all of the voltage in the stator")
            raise ValueError(f"{amps:.4g} A at {100.0 * volts / stator.rated_voltage:.4g} % voltage {reason}")
        points.append(Point(gap / stator.rated_voltage, own / stator.rated_voltage))
    return points


def find_reactance(points: Sequence[Point]) -> float:
    """Unsaturated magnetising reactance: the steepest line from the origin to a point. [ohm]

    Raises
    ------
    ValueError
        When no point is on the straight part: the lowest lies above `STRAIGHT_FLUX` and no two points share a line.
    """
    slopes = sorted((point.flux / point.susceptance for point in points), reverse=True)
    if min(point.flux for point in points) > STRAIGHT_FLUX and slopes[1] < (1.0 - STRAIGHT_APART) * slopes[0]:
        raise ValueError("no point lies on the straight part of the curve: add one at "
                         f"{100.0 * STRAIGHT_FLUX:g} % voltage or less")
    return slopes[0]


def check_reactance(points: Sequence[Point], reactance: float) -> None:
    """Hold a given magnetising reactance [ohm] against the points.

    Raises
    ------
    ValueError
        When a point draws less than the straight line, or none lies on it.
    """
    shares = [point.susceptance * reactance / point.flux - 1.0 for point in points]
    steepest = max(point.flux / point.susceptance for point in points)
    advice = (f"give the unsaturated one, {steepest:.4g} ohm by the steepest point, or leave it out to have it taken "
              "from the curve")
    if min(shares) < -STRAIGHT_APART:
        raise ValueError(f"a point draws {-100.0 * min(shares):.3g} % less than the magnetising reactance of "
                         f"{reactance:.4g} ohm; {advice}")
    if min(shares) > STRAIGHT_APART:
        raise ValueError(f"no point lies on the straight line of the magnetising reactance of {reactance:.4g} ohm, the "
                         f"nearest draws {100.0 * min(shares):.3g} % more; {advice}")


def find_magnetising(path: MainPath, flux: float) -> float:
    """Current of the main path times sqrt(3) over rated voltage at a flux [pu of rated]. [S]"""
    beyond = sum(added * max(flux - knee, 0.0) for knee, added in zip(path.knees, path.added))
    return (flux + beyond) / path.reactance


def find_no_load_current(path: MainPath, stator: Stator, voltage: float) -> float:
    """No-load current of the terminals at rated frequency.

    Parameters
    ----------
    path : MainPath
    stator : Stator
    voltage : float
        Between lines. [V]

    Returns
    -------
    float
        RMS. [A]
    """
    low, high = 0.0, voltage / stator.rated_voltage
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        own = find_magnetising(path, middle) * stator.rated_voltage
        gap = sqrt(max(voltage**2 - (stator.resistance * own) ** 2, 0.0)) - stator.reactance * own
        low, high = (middle, high) if gap > middle * stator.rated_voltage else (low, middle)
    own = find_magnetising(path, high) * stator.rated_voltage
    loss = stator.conductance * voltage
    return sqrt((loss**2 + own**2 * (1.0 + 2.0 * stator.conductance * stator.resistance)) / 3.0)
