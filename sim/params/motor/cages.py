r"""Two parallel rotor cages from the rotor's impedance at two slips, and the torque of many motors at once.

Seen from the air gap at slip s the rotor is an impedance z/s with z(p) = R + p X at p = j s.  Two cages in parallel
are a resistance and a reactance in series with a resistance D bridged by a reactance D t:

    z(p) = R0 + p X8 + D p t / (1 + p t),      R0, X8, D, t > 0,

and every such z is a pair of cages with positive values (the two forms of Foster of one driving-point impedance of
resistances and inductances).  R0 is the resistance near synchronous speed, X8 the reactance with all current
displaced.  With R_a, X_a known at slip a and R_b, X_b at slip b > a the four values follow in closed form from

    X_a - X_b = t (R_b - R_a),
    R_b - R_a = D t^2 (b^2 - a^2) / ((1 + a^2 t^2)(1 + b^2 t^2)).

So two cages exist when the resistance grows and the reactance falls towards standstill and X8 and R0 stay positive.
They are a running and a starting cage when the second one has more resistance and less leakage than the first;
at the limit of equal resistances R(s >> 1/t) / R0 = 2 - X8/X0, X0 the reactance near synchronous speed.

Sources
-------
.. [1] R. M. Foster's reactance theorem carried over to resistances and inductances, as in E. A. Guillemin, *Synthesis
       of Passive Networks* (from memory, to be checked); the relations above are derived and checked numerically.

Checked by
----------
tests/params/motor/test_cages.py
"""

from math import atan2
from typing import Any, NamedTuple

import numpy as np
from scipy.optimize import brentq

TORQUE_POINTS = 140


class Stator(NamedTuple):
    """Stator per unit: resistance, leakage, magnetising susceptance (1/Xm); floats or arrays."""

    resistance: float
    reactance: float
    susceptance: float


class Cages(NamedTuple):
    """Resistance and reactance of the running cage (1) and the starting cage (2); floats or arrays."""

    r1: float
    x1: float
    r2: float
    x2: float


def solve_cages(low, z_low, high, z_high) -> Cages:
    """Cages of a rotor with given impedance at two slips.

    Parameters
    ----------
    low, high : float
        Slips, low < high. [pu]
    z_low, z_high : complex or ndarray
        R + j X with X referred to rated frequency. [any unit]

    Returns
    -------
    cages : Cages
        In the unit of z; nan where no two positive cages have these impedances.

    Notes
    -----
    1/z has the poles -c1, -c2 with c1 < 1/t < c2; each is a cage with R/X = c whose 1/X is the residue.
    """
    with np.errstate(all="ignore"):
        growth = np.subtract(z_high.real, z_low.real)
        lag = np.subtract(z_low.imag, z_high.imag) / growth
        displaced = growth * (1 + (low * lag) ** 2) * (1 + (high * lag) ** 2) / (lag**2 * (high**2 - low**2))
        x8 = z_high.imag - displaced * lag / (1 + (high * lag) ** 2)
        r0 = z_low.real - displaced * (low * lag) ** 2 / (1 + (low * lag) ** 2)
        total = x8 + (r0 + displaced) * lag
        root = np.sqrt(total**2 - 4.0 * x8 * lag * r0)
        slow, fast = 2.0 * r0 / (total + root), (total + root) / (2.0 * x8 * lag)
        spread = x8 * lag * (fast - slow)
        x1, x2 = spread / (1.0 - slow * lag), spread / (fast * lag - 1.0)
        exists = (growth > 0.0) & (lag > 0.0) & (x8 > 0.0) & (r0 > 0.0) & np.isfinite(x1) & np.isfinite(x2)
        found: list[Any] = [np.where(exists, value, np.nan) for value in (slow * x1, x1, fast * x2, x2)]
        return Cages(*found)


def scale_cages(slip: float, z: complex, resistance_ratio: float, reactance_ratio: float) -> Cages:
    """Cages with given R2/R1 and X2/X1 whose impedance at one slip is z = R + j X, X at rated frequency.

    The angle of the admittance fixes X1/R1, its magnitude R1.  Valid for R, X > 0.
    """
    def admit(quotient):
        return 1.0 / complex(1.0, quotient) + 1.0 / complex(resistance_ratio, reactance_ratio * quotient)

    def turn(quotient):
        y = admit(quotient)
        return atan2(-y.imag, y.real) - wanted

    wanted = atan2(slip * z.imag, z.real)
    top = slip * z.imag / z.real * max(1.0, resistance_ratio / reactance_ratio)
    quotient = brentq(turn, 0.0, top * (1.0 + 1e-9), xtol=1e-14)
    r1 = abs(complex(z.real, slip * z.imag)) * abs(admit(quotient))
    x1 = r1 * quotient / slip
    return Cages(r1, x1, resistance_ratio * r1, reactance_ratio * x1)


def admit_cages(cages: Cages, slip):
    """Admittance of the cages in parallel at a slip, as seen from the air gap."""
    return slip / (cages.r1 + 1j * slip * cages.x1) + slip / (cages.r2 + 1j * slip * cages.x2)


def find_gap_power(stator: Stator, cages: Cages, slip):
    """Power through the air gap at unit phase voltage."""
    rotor = admit_cages(cages, slip)
    series = stator.resistance + 1j * stator.reactance
    return rotor.real / np.abs(1.0 + series * (rotor - 1j * stator.susceptance)) ** 2


def find_breakdown_power(stator: Stator, cages: Cages, lowest_slip: float):
    """First maximum of the gap power at unit voltage between a slip of the running branch and standstill.

    Parameters
    ----------
    stator, cages
        Floats or arrays of one shape (n,).
    lowest_slip : float
        Where the search begins. [pu]

    Returns
    -------
    power : ndarray, shape (n,)
        The value at standstill when the curve rises all the way.  A parabola through the highest points of a grid in
        log slip: good to about 1e-5.
    """
    slip = np.geomspace(lowest_slip, 1.0, TORQUE_POINTS)
    power = find_gap_power(_as_columns(stator), _as_columns(cages), slip)
    falls = np.diff(power, axis=1) < 0.0
    at = np.where(falls.any(axis=1), falls.argmax(axis=1), TORQUE_POINTS - 1)
    inside = np.clip(at, 1, TORQUE_POINTS - 2)
    rows = np.arange(len(power))
    before, top, after = (power[rows, inside + k] for k in (-1, 0, 1))
    bend = 2.0 * top - before - after
    with np.errstate(divide="ignore", invalid="ignore"):
        peak = top + (after - before) ** 2 / (8.0 * bend)
    return np.where((at == inside) & (bend > 0.0), peak, power[rows, at])


def _as_columns(values):
    return type(values)(*(np.atleast_1d(value)[:, None] for value in values))
