"""Equivalent circuit of an induction motor from its nameplate.

A double cage when locked-rotor current and torque are known, else a single cage with equal leakages.  The rated
point (current, power factor, efficiency, slip) is met exactly; locked-rotor current, locked-rotor torque and breakdown
torque are met exactly when one machine can have them, else by the least logarithmic errors, and refused beyond
`WORST_ERROR`.  Every reproduced figure is evaluated anew from the finished circuit by `equivalent_circuit`.

Losses outside the circuit (iron, friction, stray) come back as `core_loss`, to be drawn at the terminals by a
conductance core_loss/V^2.  The circuit holds unsaturated leakages; with a `locked_rotor_saturation` below one its
standstill figures are those of the nameplate only with all leakages times that factor.

Valid for
---------
Cage motors of 1 kW to 30 MW at rated frequency and sinusoidal voltage.

Sources
-------
.. [1] A. E. Fitzgerald, C. Kingsley, S. D. Umans, *Electric Machinery*, 6th ed., sections 6.4-6.7: circuit, torque,
       deep bars and double cages.
.. [2] IEC 60034-1, tolerances of guaranteed values: locked-rotor current +20 %, locked-rotor torque -15 % to +25 %,
       breakdown torque -10 % (from memory, to be checked).

Checked by
----------
tests/params/motor/test_fit.py, tests/published/test_motor_fit_machines.py
"""

from math import inf, nan, sqrt
from typing import NamedTuple

from sim.params.motor import circuit as ec
from sim.params.motor.nameplate import (
    FitError,
    Nameplate,
    RatedPoint,
    check_nameplate,
    find_base_ohm,
    find_rated_point,
    find_rated_va,
    find_slip,
)
from sim.params.motor.search import Standstill, find_compromise, find_exact
from sim.params.motor.single_cage import Solution, find_single

__all__ = ["Figure", "FitError", "FittedCircuit", "MotorFit", "Nameplate", "fit_motor"]

USUAL_GAP_VOLTAGE = 0.93    # behind the stator at rated load (common practice) [pu]
WORST_ERROR = 10.0      # narrowest tolerance of a torque in [2]: what is further off is another machine [%]


class FittedCircuit(NamedTuple):
    """Star equivalent per phase at rated frequency, rotor referred to the stator, leakages unsaturated. [ohm]

    The second cage is the starting cage (more resistance, less leakage) or None.
    """

    stator_resistance_ohm: float
    stator_reactance_ohm: float
    magnetising_reactance_ohm: float
    rotor_resistance_ohm: float
    rotor_reactance_ohm: float
    second_rotor_resistance_ohm: float | None = None
    second_rotor_reactance_ohm: float | None = None


class Figure(NamedTuple):
    """A figure of the nameplate as given and as the circuit reproduces it; error relative to the given one."""

    name: str
    given: float
    reproduced: float
    unit: str
    error_pct: float


class MotorFit(NamedTuple):
    """Circuit, losses outside it [W], all given figures, and the largest error in magnitude [%]."""

    circuit: FittedCircuit
    core_loss: float
    figures: tuple[Figure, ...]
    worst_error_pct: float


def fit_motor(nameplate: Nameplate) -> MotorFit:
    """Equivalent circuit of a nameplate.

    Parameters
    ----------
    nameplate : Nameplate
        Locked-rotor current and torque both or neither.  Without a breakdown torque the usual one, or the nearest
        possible, is taken and not counted as a figure.

    Returns
    -------
    fit : MotorFit

    Raises
    ------
    FitError
        Impossible values; speed against efficiency; no circuit within `WORST_ERROR` of every figure.
    """
    check_nameplate(nameplate)
    point = find_rated_point(nameplate)
    circuit = _make_circuit(_find_solution(nameplate, point), find_base_ohm(nameplate))
    core_loss = point.conductance * find_rated_va(nameplate)
    figures = evaluate_figures(nameplate, circuit, core_loss)
    if not all(abs(figure.error_pct) <= WORST_ERROR for figure in figures):     # nan included
        raise FitError(_explain(nameplate, figures))
    worst = max(abs(figure.error_pct) for figure in figures)
    return MotorFit(circuit, core_loss, figures, worst)


def evaluate_figures(nameplate: Nameplate, circuit, core_loss: float) -> tuple[Figure, ...]:
    """The figures of a nameplate as a circuit with a loss [W] at its terminals reproduces them.

    Evaluated from the circuit at rated voltage and frequency: the slip at which it gives rated power, then current,
    power factor and efficiency; standstill with leakages times the saturation factor.  A motor whose torque rises all
    the way to standstill has its breakdown torque there.
    """
    supply = ec.make_supply(nameplate.voltage, nameplate.frequency, nameplate.poles, nameplate.frequency)
    leak = core_loss / (sqrt(3.0) * nameplate.voltage)
    torque = nameplate.rated_power / nameplate.rated_speed
    pairs = [*_list_rated(nameplate, circuit, supply, leak),
             *_list_other(nameplate, circuit, supply, leak, torque)]
    return tuple(Figure(name, given, found, unit, 100.0 * (found / given - 1.0))
                 for name, given, found, unit in pairs if given is not None)


def _list_rated(plate, circuit, supply, leak):
    slip = ec.slip_at_power(circuit, supply, plate.rated_power)
    current, power = nan, nan       # stays so when the circuit cannot give rated power on its running branch
    if slip == slip:
        line = complex(ec.stator_current(circuit, supply, slip)) + leak
        current, power = abs(line), sqrt(3.0) * plate.voltage * line.real
    apparent = sqrt(3.0) * plate.voltage * current
    yield "rated current", find_rated_va(plate) / (sqrt(3.0) * plate.voltage), current, "A"
    yield "power factor", plate.power_factor, power / apparent, "pu"
    yield "efficiency", plate.efficiency, plate.rated_power / power, "pu"
    yield "rated slip", find_slip(plate), slip, "pu"


def _list_other(plate, circuit, supply, leak, torque):
    saturated = saturate(circuit, plate.locked_rotor_saturation)
    rated_current = find_rated_va(plate) / (sqrt(3.0) * plate.voltage)
    current = abs(complex(ec.stator_current(saturated, supply, 1.0)) + leak)
    yield "locked-rotor current", plate.locked_rotor_current, current / rated_current, "pu of rated current"
    start = float(ec.air_gap_torque(saturated, supply, 1.0))
    yield "locked-rotor torque", plate.locked_rotor_torque, start / torque, "pu of rated torque"
    top = ec.breakdown(circuit, supply)
    most = top.torque if top.slip <= 1.0 else float(ec.air_gap_torque(circuit, supply, 1.0))
    yield "breakdown torque", plate.breakdown_torque, most / torque, "pu of rated torque"


def saturate(circuit, factor: float) -> FittedCircuit:
    """Circuit with all leakage reactances times a factor."""
    second = circuit.second_rotor_reactance_ohm
    return FittedCircuit(circuit.stator_resistance_ohm, factor * circuit.stator_reactance_ohm,
                         circuit.magnetising_reactance_ohm, circuit.rotor_resistance_ohm,
                         factor * circuit.rotor_reactance_ohm, circuit.second_rotor_resistance_ohm,
                         None if second is None else factor * second)


def _find_solution(plate, point: RatedPoint) -> Solution:
    if plate.locked_rotor_current is None:
        return find_single(point, plate.breakdown_torque)
    start = Standstill(plate.locked_rotor_current, plate.locked_rotor_torque)
    return find_exact(point, start, plate.breakdown_torque) or find_compromise(point, start, plate.breakdown_torque)


def _make_circuit(solution: Solution, base: float) -> FittedCircuit:
    (rs, xs, susceptance), (r1, x1, r2, x2) = solution
    second = (None, None) if r2 == inf else (float(r2 * base), float(x2 * base))
    return FittedCircuit(*(float(value * base) for value in (rs, xs, 1.0 / susceptance, r1, x1)), *second)


def _explain(plate, figures):
    """Which figures contradict each other, the nearest possible ones, and what to do."""
    free = [figure for figure in figures if figure.name.startswith(("locked", "breakdown"))]
    given = ", ".join(f"{figure.name} {figure.given:.3g}" for figure in free)
    near = ", ".join(f"{figure.name} {figure.reproduced:.3g}" for figure in free)
    reasons = " ".join(_list_reasons(plate, {figure.name: figure.error_pct for figure in free}))
    return (f"no motor with the rated point {100 * find_slip(plate):.2f} % slip, efficiency {plate.efficiency:.4g}, "
            f"power factor {plate.power_factor:.4g} has {given} [pu of rated] at once. {reasons} Nearest possible: "
            f"{near}. Correct the figure that is least sure, or leave it out to have it estimated")


def _list_reasons(plate, errors):
    """Why not, one sentence each; errors by name of figure [%]."""
    if plate.locked_rotor_current is None:
        yield ("The breakdown torque is too high for the stator resistance." if errors["breakdown torque"] < 0.0 else
               "The breakdown torque is too low for the power factor: the leakage it takes leaves no magnetising "
               "current.")
        return
    gap = plate.efficiency * plate.power_factor / (1.0 - find_slip(plate))
    current, start = plate.locked_rotor_current, plate.locked_rotor_torque
    least = find_slip(plate) * (USUAL_GAP_VOLTAGE * current / gap) ** 2
    if start < least:
        yield (f"The locked-rotor torque is too low: a rotor with the resistance of the rated slip already gives about "
               f"{least:.2f} at this current, and displacement adds to it.")
    elif start * gap > 0.5 * current:
        yield (f"The locked-rotor torque is too high: it needs a power factor of {start * gap / current:.2f} at this "
               "current, and the leakage lets hardly more than 0.5 pass.")
    else:
        yield from _compare_leakage(current * plate.locked_rotor_saturation / (2.0 * gap), errors)


def _compare_leakage(most, errors):
    """Breakdown torque against locked-rotor current; `most` is the breakdown torque without displacement."""
    top, current = errors.get("breakdown torque", 0.0), errors["locked-rotor current"]
    if top < current:
        yield (f"The breakdown torque is too high for the locked-rotor current: {most:.2f} is the most at this "
               "current, less what stator resistance and displacement take.")
    else:
        yield ("The breakdown torque is too low for the locked-rotor current: the leakage it asks for would let less "
               "current pass, unless it saturates (locked_rotor_saturation below 1).")
