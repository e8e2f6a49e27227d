"""Search for the circuit that holds a rated point, the standstill figures and the breakdown torque.

At a given stator leakage Xs and magnetising reactance Xm the rotor's impedance follows at rated slip from the rated
current and at standstill from locked-rotor current and torque, and with both the two cages (`motor_cages`).  The
rated point is kept exactly by every circuit of this module.  What remains is found here:

1. `find_exact`: Xm such that the breakdown torque is met, at the stator leakage next to half of the standstill
   reactance that allows it.  (Stator leakage and a leakage common to both cages cannot be told apart at the
   terminals; both are in Xs.)
2. `find_compromise`: when no circuit meets all three, the least sum of squared logarithmic errors of locked-rotor
   current, locked-rotor torque and breakdown torque among all circuits with a running and a starting cage.

All values are per unit of `motor_nameplate`; torques are gap powers over that of the rated point.

Valid for
---------
Magnetising reactance up to 1/LEAST_SUSCEPTANCE and at least LEAST_RATIO times the leakages.

Checked by
----------
tests/params/motor/test_fit.py, tests/published/test_motor_fit_machines.py
"""

from functools import partial
from typing import NamedTuple

import numpy as np
from scipy.optimize import least_squares

from sim.params.motor.cages import (
    Cages,
    Stator,
    admit_cages,
    find_breakdown_power,
    find_gap_power,
    scale_cages,
    solve_cages,
)
from sim.params.motor.estimates import estimate_breakdown_torque
from sim.params.motor.nameplate import RatedPoint
from sim.params.motor.single_cage import LEAST_SUSCEPTANCE, LOWEST_SLIP, Solution, find_breakdown_ratio

LEAST_RATIO = 3.0           # magnetising reactance over stator leakage [pu]
USUAL_SHARE = 0.5           # stator leakage over the standstill reactance (common practice)
SHARES = (0.5, 0.6, 0.7, 0.8, 0.9, 0.4, 0.3, 0.2)
SAME = 1.1                  # between the 1/Xm of one circuit at two stator leakages, a step of the scan included
USUAL_MAGNETISING = 5.0     # magnetising reactance of usual machines at most (common practice) [pu]
SUSCEPTANCES, FINER, ZOOMS = 32, 12, 2  # points of a scan over 1/Xm, of one between two of them, and how often
LARGEST_STEP = 0.01         # of the breakdown torque between neighbours of the finer scan [pu of rated]
PULL = 1e-3                 # weight of usual share and magnetising reactance beside the logarithmic errors
GOOD_COST = 0.5 * 1e-3**2    # no other start is tried below: about 0.1 % on every figure
MOST_STEPS = 25
STARTS = ((0.5, 0.5, 1.5, 1.0), (0.7, 0.7, 0.7, 2.0), (0.35, 0.3, 0.3, 0.3))
LOWEST, HIGHEST = (0.1, 0.0, 1e-3, 1e-3), (0.9, 0.98, 7.0, 5.0)


class Standstill(NamedTuple):
    """Locked-rotor current and torque [pu of rated]."""

    current: float
    torque: float


def find_standstill_current(point: RatedPoint, start: Standstill) -> complex:
    """Circuit current at standstill from the magnitude of the line current and the torque; nan when there is none."""
    power = start.torque * point.gap_power
    g, r = point.conductance, point.stator_resistance
    active = (power + r * (start.current**2 - g**2)) / (1.0 + 2.0 * g * r)
    square = start.current**2 - (active + g) ** 2
    return complex(active, -np.sqrt(square)) if square > 0.0 else complex(np.nan, np.nan)


def find_exact(point: RatedPoint, start: Standstill, breakdown: float | None) -> Solution | None:
    """Circuit with all figures, None when there is none.

    Two circuits can have the same figures: one whose currents are displaced beyond the breakdown slip, and one with
    less magnetising current whose displacement begins between rated and breakdown slip.  The first, with the larger
    1/Xm, is taken when it exists at any stator leakage.

    Parameters
    ----------
    breakdown : float or None
        [pu of rated torque]; None: the usual one, or the nearest to it that the other figures allow.
    """
    wanted = estimate_breakdown_torque().value if breakdown is None else breakdown
    found = _solve_candidates(point, start, wanted)
    if found is None and breakdown is None:
        found = _find_nearest(point, start, wanted)
    if found is None:
        return None
    stator, cages = make_double(point, start, *np.asarray(found, dtype=float))
    return Solution(_as_floats(stator), _as_floats(cages))


def make_double(point: RatedPoint, start: Standstill, leakage, susceptance):
    """Stator and cages with rated point and standstill figures at given Xs and 1/Xm (floats or arrays)."""
    stator = Stator(point.stator_resistance + 0.0 * susceptance, leakage + 0.0 * susceptance, susceptance)
    current, k = find_standstill_current(point, start), point.saturation
    at_rest = _find_rotor(current, stator._replace(reactance=k * stator.reactance), 1.0)
    running = _find_rotor(point.current, stator, point.slip)
    return stator, solve_cages(point.slip, running, k, at_rest.real + 1j * at_rest.imag / k)


def find_compromise(point: RatedPoint, start: Standstill, breakdown: float | None) -> Solution:
    """Circuit with the rated point and the least logarithmic errors of the other figures.

    Unknowns are the stator leakage over the standstill reactance, the place of 1/Xm in its range, ln(R2/R1) and
    ln(X1/X2), each within bounds that admit physical circuits only.
    """
    nearest = _find_nearest(point, start, breakdown or estimate_breakdown_torque().value)
    unknowns = None if nearest is None else _read_unknowns(point, start, *nearest)
    tries = []
    for first in STARTS if unknowns is None else (unknowns, STARTS[0]):
        tries.append(least_squares(_list_misses, first, bounds=(LOWEST, HIGHEST), args=(point, start, breakdown),
                                   xtol=1e-6, ftol=1e-6, gtol=1e-6, max_nfev=MOST_STEPS))
        if tries[-1].cost < GOOD_COST:
            break
    return _make_ordered(min(tries, key=lambda found: found.cost).x, point, start)


def find_reactance_at_rest(point: RatedPoint, start: Standstill) -> float:
    """Reactance of the motor at standstill referred to unsaturated leakage, from the current alone when the torque
    asks for more power than the current carries."""
    current = find_standstill_current(point, start)
    return ((1.0 / current).imag if current.imag < 0.0 else 1.0 / start.current) / point.saturation


def _find_rotor(current, stator, slip):
    """R + jX of the rotor, X at rated frequency, from the current at unit voltage."""
    gap = 1.0 - current * (stator.resistance + 1j * stator.reactance)
    z = slip / (current / gap + 1j * stator.susceptance)
    return z.real + 1j * z.imag / slip


def _find_reactive_need(point, leakage):
    """Susceptance seen behind the stator at rated load: the largest 1/Xm, with no leakage left for the rotor."""
    return -(point.current / (1.0 - point.current * complex(point.stator_resistance, leakage))).imag


def _find_largest_susceptance(point, leakage):
    return max(min(_find_reactive_need(point, leakage), 1.0 / (LEAST_RATIO * leakage)), 2.0 * LEAST_SUSCEPTANCE)


def _scan(point, start):
    """Leakage, 1/Xm (increasing) and breakdown torque (nan where unphysical) at each share of the stator."""
    if not find_standstill_current(point, start).imag < 0.0:
        return
    base = find_reactance_at_rest(point, start)
    for share in SHARES:
        most = max(_find_reactive_need(point, share * base), LEAST_SUSCEPTANCE)
        susceptance = np.linspace(LEAST_SUSCEPTANCE, most, SUSCEPTANCES)
        yield share * base, susceptance, _find_torque(point, start, share * base, susceptance)


def _solve_candidates(point, start, wanted):
    """Leakage and 1/Xm of the exact circuit with the largest 1/Xm, None when there is none."""
    candidates = [(leakage, *susceptance[at:at + 2]) for leakage, susceptance, torque in _scan(point, start)
                  for at in _find_crossings(torque - wanted)[::-1]]
    while candidates:
        top = max(high for _, _, high in candidates)
        leakage, low, high = pick = next(each for each in candidates if SAME * each[2] >= top)
        root = _zoom(partial(_find_miss, point, start, leakage, wanted), low, high)
        if root > 0.0:
            return leakage, root
        candidates.remove(pick)
    return None


def _find_nearest(point, start, wanted):
    """Leakage and 1/Xm of the scanned circuit whose breakdown torque comes nearest, None when none is physical."""
    best, nearest = np.inf, None
    for leakage, susceptance, torque in _scan(point, start):
        for m, miss in zip(susceptance, np.abs(torque - wanted)):
            if miss < best:
                best, nearest = miss, (leakage, m)
    return nearest


def _find_miss(point, start, leakage, wanted, susceptance):
    return _find_torque(point, start, leakage, susceptance) - wanted


def _find_crossings(miss):
    return np.flatnonzero(miss[:-1] * miss[1:] <= 0.0)


def _zoom(find_miss, low, high):
    """Zero between two points; 0 across a gap, and where the first maximum jumps to another hump."""
    for _ in range(ZOOMS):
        values = np.linspace(low, high, FINER)
        miss = find_miss(values)
        crossings = _find_crossings(miss)
        if not crossings.size:
            return 0.0
        at = crossings[-1]
        low, high = values[at:at + 2]
    step = miss[at + 1] - miss[at]
    if abs(step) > LARGEST_STEP:
        return 0.0
    return low - miss[at] * (high - low) / step if step else low


def _read_unknowns(point, start, leakage, susceptance):
    """Unknowns of `_make_ordered` for a circuit of `make_double`."""
    _, (r1, x1, r2, x2) = make_double(point, start, leakage, np.float64(susceptance))
    if np.isnan(r1):        # on the edge of the physical range
        return None
    share = leakage / find_reactance_at_rest(point, start)
    place = (susceptance - LEAST_SUSCEPTANCE) / (_find_largest_susceptance(point, leakage) - LEAST_SUSCEPTANCE)
    return np.clip((share, place, np.log(r2 / r1), np.log(x1 / x2)), np.add(LOWEST, 1e-3), np.subtract(HIGHEST, 1e-3))


def _find_torque(point, start, leakage, susceptance):
    """Breakdown torque at each susceptance [pu of rated], nan where no physical circuit exists."""
    stator, cages = make_double(point, start, leakage, susceptance)
    torque = np.full(np.shape(susceptance), np.nan)
    fits = _is_physical(stator, cages)
    if fits.any():
        kept = Stator(*(value[fits] for value in stator)), Cages(*(value[fits] for value in cages))
        torque[fits] = find_breakdown_power(*kept, LOWEST_SLIP * point.slip) / point.gap_power
    return torque


def _is_physical(stator, cages):
    """A starting cage of more resistance and less leakage, and a magnetising reactance far above the leakage."""
    with np.errstate(invalid="ignore"):
        ordered = (cages.r2 > cages.r1) & (cages.x2 < cages.x1)
    return ordered & (LEAST_RATIO * stator.susceptance * stator.reactance < 1.0)


def _make_ordered(unknowns, point, start):
    share, place, resistance, reactance = unknowns
    leakage = share * find_reactance_at_rest(point, start)
    susceptance = LEAST_SUSCEPTANCE + place * (_find_largest_susceptance(point, leakage) - LEAST_SUSCEPTANCE)
    stator = Stator(point.stator_resistance, leakage, susceptance)
    running = _find_rotor(point.current, stator, point.slip)
    return Solution(stator, scale_cages(point.slip, running, np.exp(resistance), np.exp(-reactance)))


def _list_misses(unknowns, point, start, breakdown):
    solution = _make_ordered(unknowns, point, start)
    found = evaluate_standstill(point, solution)
    misses = [np.log(found.current / start.current), np.log(found.torque / start.torque)]
    if breakdown is not None:
        misses.append(np.log(find_breakdown_ratio(point, solution) / breakdown))
    excess = max(-np.log(USUAL_MAGNETISING * solution.stator.susceptance), 0.0)
    return [*misses, PULL * (unknowns[0] - USUAL_SHARE), PULL * excess]


def evaluate_standstill(point: RatedPoint, solution: Solution) -> Standstill:
    """Locked-rotor current and torque of a circuit with saturated leakages."""
    k, (stator, cages) = point.saturation, solution
    stator = stator._replace(reactance=k * stator.reactance)
    cages = cages._replace(x1=k * cages.x1, x2=k * cages.x2)
    gap = admit_cages(cages, 1.0) - 1j * stator.susceptance
    current = gap / (1.0 + complex(stator.resistance, stator.reactance) * gap)
    return Standstill(abs(current + point.conductance), find_gap_power(stator, cages, 1.0) / point.gap_power)


def _as_floats(values):
    return type(values)(*(float(value) for value in values))
