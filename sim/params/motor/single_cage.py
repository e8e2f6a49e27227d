"""Circuit with one cage from a rated point and a breakdown torque.

Stator and rotor leakage are taken equal (what is seen at the terminals depends on their sum only).  At a given leakage
the rated current leaves one rotor resistance and one magnetising reactance; the leakage follows from the breakdown
torque, about 1/(4 T_BD) per unit of the rated power behind the stator resistance.

All values are per unit of `motor_nameplate`.

Valid for
---------
Motors whose behaviour near standstill is not needed: one cage knows no current displacement.

Sources
-------
.. [1] A. E. Fitzgerald, C. Kingsley, S. D. Umans, *Electric Machinery*, 6th ed., section 6.5.

Checked by
----------
tests/published/test_motor_fit_machines.py
"""

from typing import NamedTuple

import numpy as np
from scipy.optimize import brentq

from sim.params.motor.cages import Cages, Stator, find_breakdown_power
from sim.params.motor.estimates import estimate_breakdown_torque
from sim.params.motor.nameplate import RatedPoint

LEAST_SUSCEPTANCE = 0.05    # 1/Xm: no motor magnetises with less current (common practice) [pu]
LEAST_LEAKAGE, MOST_LEAKAGE = 1e-3, 0.6     # of stator or rotor [pu]
LOWEST_SLIP = 0.3           # of the rated slip, where the search for the breakdown torque begins


class Solution(NamedTuple):
    """Stator and cages; a single cage has r2 = inf, x2 = 0."""

    stator: Stator
    cages: Cages


def find_breakdown_ratio(point: RatedPoint, solution: Solution) -> float:
    """Breakdown torque of one circuit. [pu of rated]"""
    return float(find_breakdown_power(*solution, LOWEST_SLIP * point.slip)[0]) / point.gap_power


def find_single(point: RatedPoint, breakdown: float | None) -> Solution:
    """One cage with Xs = Xr that keeps the rated point and has the nearest possible breakdown torque."""
    wanted = estimate_breakdown_torque().value if breakdown is None else breakdown
    least, most = LEAST_LEAKAGE, _find_largest_leakage(point)

    def miss(leakage):
        return find_breakdown_ratio(point, make_single(point, leakage)) - wanted

    if miss(most) >= 0.0:
        return make_single(point, most)
    return make_single(point, brentq(miss, least, most, xtol=1e-12) if miss(least) > 0.0 else least)


def make_single(point: RatedPoint, leakage: float) -> Solution:
    """Circuit with one cage whose leakage is the stator's and that keeps the rated point."""
    gap = 1.0 - point.current * complex(point.stator_resistance, leakage)
    inner = point.current / gap
    resistance = 0.5 * point.slip * (1.0 + np.sqrt(max(1.0 - (2.0 * inner.real * leakage) ** 2, 0.0))) / inner.real
    rotor = 1.0 / complex(resistance / point.slip, leakage)
    stator = Stator(point.stator_resistance, leakage, rotor.imag - inner.imag)
    return Solution(stator, Cages(resistance, leakage, np.inf, 0.0))


def _find_largest_leakage(point):
    """Largest Xs = Xr that leaves the least magnetising current, and a running branch at rated load."""
    leakages = np.linspace(LEAST_LEAKAGE, MOST_LEAKAGE, 600)
    inner = [point.current / (1.0 - point.current * complex(point.stator_resistance, x)) for x in leakages]
    for step, (x, y) in enumerate(zip(leakages, inner)):
        if 2.0 * y.real * x >= 1.0 or make_single(point, x).stator.susceptance < LEAST_SUSCEPTANCE:
            return leakages[max(step - 1, 0)]
    return leakages[-1]
