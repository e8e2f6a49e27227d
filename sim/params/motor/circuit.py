r"""Steady state of an induction machine from its equivalent circuit, with one or two cages.

A circuit is any object with the attributes ``stator_resistance_ohm``, ``stator_reactance_ohm``,
``magnetising_reactance_ohm``, ``rotor_resistance_ohm``, ``rotor_reactance_ohm`` and, for a double cage,
``second_rotor_resistance_ohm`` and ``second_rotor_reactance_ohm`` (None for a single cage): ohm per phase
of the star equivalent, rotor values referred to the stator, reactances at rated frequency.  The cages lie
in parallel behind the common magnetising reactance, which may be infinite.

Slip is (synchronous speed - speed) / synchronous speed: 1 at standstill, 0 at synchronous speed, negative
as a generator.  Slip and speed may be arrays; all functions broadcast.

Valid for
---------
Balanced sinusoidal supply, constant resistances and reactances (no saturation, no skin effect in the bars
beyond what two cages represent), no iron loss.  Torque is air-gap torque: friction of the motor itself is
not taken off.

Sources
-------
.. [1] A. E. Fitzgerald, C. Kingsley, S. D. Umans, *Electric Machinery*, 6th ed., sections 6.4-6.6:
       equivalent circuit, Thevenin form, torque and power.
.. [2] IEC 60034-1 and IEC 60034-12: locked-rotor, pull-up and breakdown torque (definitions from memory,
       to be checked).

Checked by
----------
tests/params/motor/test_circuit.py and the worked examples of tests/published.
"""

from typing import NamedTuple

import numpy as np

LEAST_SLIP = 1e-6
MOST_SLIP = 10.0
GRID_POINTS = 1401
BISECTIONS = 60


class Supply(NamedTuple):
    """Balanced supply of one machine.

    Attributes
    ----------
    voltage : float
        Line-to-line rms voltage behind the source impedance. [V]  >= 0
    synchronous_speed : float
        Mechanical. [rad/s]  > 0
    frequency_ratio : float
        Frequency over the rated frequency of the circuit. [pu]  > 0
    source_impedance : complex
        Per phase at the supply's frequency, seen from the motor terminals. [ohm]
    """

    voltage: float
    synchronous_speed: float
    frequency_ratio: float = 1.0
    source_impedance: complex = 0.0


class LockedRotor(NamedTuple):
    """Standstill: current [A rms], air-gap torque [N m], power factor at the terminals [pu]."""

    current: float
    torque: float
    power_factor: float


class Extreme(NamedTuple):
    """A turning point of the torque curve: torque [N m] and its slip [pu]."""

    torque: float
    slip: float


def make_supply(voltage, frequency, poles, rated_frequency, source_impedance=0.0) -> Supply:
    """Supply of given line-to-line rms voltage [V] and frequency [Hz] for a motor of given poles.

    `source_impedance` [ohm per phase] is the one at `frequency`.
    """
    return Supply(voltage, 4.0 * np.pi * frequency / poles, frequency / rated_frequency, source_impedance)


def has_two_cages(circuit) -> bool:
    """Whether the circuit names a second rotor branch."""
    return getattr(circuit, "second_rotor_resistance_ohm", None) is not None


def cage_admittance(circuit, slip, frequency_ratio=1.0):
    """Admittance of all rotor branches in parallel, seen from the air gap.

    Parameters
    ----------
    circuit : object
        See the head of this module.
    slip : float or ndarray
        [pu]  any value, zero included
    frequency_ratio : float or ndarray
        Frequency over rated frequency. [pu]  > 0

    Returns
    -------
    admittance : complex or ndarray
        s / (R + j s x) summed over the cages. [S]
    """
    slip = np.asarray(slip, dtype=float)
    reactance = circuit.rotor_reactance_ohm * frequency_ratio
    admittance = slip / (circuit.rotor_resistance_ohm + 1j * slip * reactance)
    if has_two_cages(circuit):
        reactance = circuit.second_rotor_reactance_ohm * frequency_ratio
        admittance = admittance + slip / (circuit.second_rotor_resistance_ohm + 1j * slip * reactance)
    return admittance


def stator_impedance(circuit, frequency_ratio=1.0):
    """Resistance and leakage of the stator at a frequency. [ohm]"""
    return circuit.stator_resistance_ohm + 1j * circuit.stator_reactance_ohm * frequency_ratio


def gap_admittance(circuit, slip, frequency_ratio=1.0):
    """Admittance of magnetising reactance and cages in parallel. [S]"""
    magnetising = circuit.magnetising_reactance_ohm * frequency_ratio
    return cage_admittance(circuit, slip, frequency_ratio) - 1j / magnetising


def input_impedance(circuit, slip, frequency_ratio=1.0):
    """Impedance per phase of the motor at its terminals.

    Parameters
    ----------
    circuit : object
    slip : float or ndarray
        [pu]
    frequency_ratio : float or ndarray
        Frequency over rated frequency. [pu]  > 0

    Returns
    -------
    impedance : complex or ndarray
        [ohm]; infinite at slip zero when the magnetising reactance is.

    Sources
    -------
    [1] section 6.4.
    """
    gap = gap_admittance(circuit, slip, frequency_ratio)
    finite = np.where(gap == 0.0, 1.0, gap)
    return stator_impedance(circuit, frequency_ratio) + np.where(gap == 0.0, np.inf, 1.0 / finite)


def stator_current(circuit, supply: Supply, slip):
    """Line current as a phasor; the angle is against the phase voltage behind the source impedance.

    Parameters
    ----------
    circuit : object
    supply : Supply
    slip : float or ndarray
        [pu]

    Returns
    -------
    current : complex or ndarray
        RMS. [A]
    """
    gap = gap_admittance(circuit, slip, supply.frequency_ratio)
    series = stator_impedance(circuit, supply.frequency_ratio) + supply.source_impedance
    return supply.voltage / np.sqrt(3.0) * gap / (1.0 + series * gap)


def power_factor(circuit, supply: Supply, slip):
    """Power factor at the motor terminals, positive when the motor takes active power. [pu]"""
    return np.cos(np.angle(input_impedance(circuit, slip, supply.frequency_ratio)))


def air_gap_power(circuit, supply: Supply, slip):
    """Active power that crosses the air gap, all phases. [W]"""
    cages = cage_admittance(circuit, slip, supply.frequency_ratio)
    gap = gap_admittance(circuit, slip, supply.frequency_ratio)
    series = stator_impedance(circuit, supply.frequency_ratio) + supply.source_impedance
    return supply.voltage**2 * np.real(cages) / np.abs(1.0 + series * gap) ** 2


def air_gap_torque(circuit, supply: Supply, slip):
    """Air-gap torque: air-gap power over synchronous speed.

    Parameters
    ----------
    circuit : object
    supply : Supply
    slip : float or ndarray
        [pu]

    Returns
    -------
    torque : float or ndarray
        Positive as a motor. [N m]

    Sources
    -------
    [1] section 6.5, eq. 6.25 and 6.33 (single cage); the cages' powers add.
    """
    return air_gap_power(circuit, supply, slip) / supply.synchronous_speed


def shaft_power(circuit, supply: Supply, slip):
    """Mechanical power developed, before the motor's own friction. [W]"""
    return (1.0 - np.asarray(slip, dtype=float)) * air_gap_power(circuit, supply, slip)


def locked_rotor(circuit, supply: Supply) -> LockedRotor:
    """Current, torque and power factor at standstill."""
    return LockedRotor(
        float(np.abs(stator_current(circuit, supply, 1.0))),
        float(air_gap_torque(circuit, supply, 1.0)),
        float(power_factor(circuit, supply, 1.0)),
    )


def breakdown(circuit, supply: Supply) -> Extreme:
    """Largest torque that the motor gives without falling off its running branch.

    For a single cage in closed form, whatever the slip (it may exceed 1); for a double cage the first
    maximum met when the slip grows from zero, searched up to a slip of 10.

    Sources
    -------
    [1] eq. 6.34-6.36; [2] for the definition.
    """
    if has_two_cages(circuit):
        return _search_breakdown(circuit, supply)
    series = stator_impedance(circuit, supply.frequency_ratio) + supply.source_impedance
    magnetising = -1j / (circuit.magnetising_reactance_ohm * supply.frequency_ratio)
    thevenin = series / (1.0 + series * magnetising)
    reactance = thevenin.imag + circuit.rotor_reactance_ohm * supply.frequency_ratio
    slip = circuit.rotor_resistance_ohm / np.hypot(thevenin.real, reactance)
    return Extreme(float(air_gap_torque(circuit, supply, slip)), float(slip))


def pull_up(circuit, supply: Supply) -> Extreme:
    """Smallest torque between standstill and breakdown; standstill itself when the curve only rises.

    Sources
    -------
    [2] for the definition.
    """
    top = min(breakdown(circuit, supply).slip, 1.0)
    slip = np.linspace(top, 1.0, GRID_POINTS)
    torque = air_gap_torque(circuit, supply, slip)
    at = int(np.argmin(torque))
    low, high = slip[max(at - 1, 0)], slip[min(at + 1, GRID_POINTS - 1)]
    best = _refine(lambda s: -air_gap_torque(circuit, supply, s), low, high)
    if torque[at] < air_gap_torque(circuit, supply, best):
        best = slip[at]
    return Extreme(float(air_gap_torque(circuit, supply, best)), float(best))


def slip_at_power(circuit, supply: Supply, power: float) -> float:
    """Slip on the running branch at which the motor develops a mechanical power.

    Parameters
    ----------
    circuit : object
    supply : Supply
    power : float
        Before the motor's own friction. [W]  >= 0

    Returns
    -------
    slip : float
        [pu]; nan when the motor cannot give that power on its running branch.
    """
    most = _refine(lambda slip: shaft_power(circuit, supply, slip), 0.0,
                   min(breakdown(circuit, supply).slip, 1.0))
    return _find_slip(lambda slip: shaft_power(circuit, supply, slip), power, most)


def _search_breakdown(circuit, supply):
    slip = np.geomspace(LEAST_SLIP, MOST_SLIP, GRID_POINTS)
    torque = air_gap_torque(circuit, supply, slip)
    falls = np.flatnonzero(np.diff(torque) < 0.0)
    at = int(falls[0]) if falls.size else GRID_POINTS - 1
    low, high = slip[max(at - 1, 0)], slip[min(at + 1, GRID_POINTS - 1)]
    best = _refine(lambda s: air_gap_torque(circuit, supply, s), low, high)
    return Extreme(float(air_gap_torque(circuit, supply, best)), float(best))


def _refine(function, low, high):
    """Golden-section search for the maximum of a function with one maximum between low and high."""
    share = 0.5 * (np.sqrt(5.0) - 1.0)
    for _ in range(BISECTIONS):
        left, right = high - share * (high - low), low + share * (high - low)
        if function(left) < function(right):
            low = left
        else:
            high = right
    return 0.5 * (low + high)


def _find_slip(function, wanted, most):
    """Root of function(slip) = wanted on the rising branch from slip 0 to `most`; nan when out of reach."""
    if not 0.0 <= wanted <= function(most):
        return float("nan")
    low, high = 0.0, most
    for _ in range(BISECTIONS):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if function(middle) < wanted else (low, middle)
    return float(0.5 * (low + high))
