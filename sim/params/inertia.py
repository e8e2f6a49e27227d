"""Moments of inertia of driven machines and shafts, torsional stiffness, and what follows from them.

Motors: see the estimates of motors.  All values are SI, speeds are mechanical.

Sources
-------
.. [1] A. R. D. Thorley, *Fluid Transients in Pipeline Systems*, 1991: pump inertia from power and speed, a fit
       to many machines (formula from memory of later papers that quote it, to be checked against the book).
.. [2] Any text on strength of materials: polar second moment pi d^4/32 of a solid shaft, stiffness G I/l,
       two masses on a spring.
"""

from math import pi, sqrt

from sim.params.estimate import Estimate

STEEL_SHEAR_MODULUS = 80e9          # carbon steel, 79 to 82 GPa [Pa]
COMPRESSOR_KINETIC_CONSTANT = 0.5   # centrifugal compressor at its own speed, 0.3 to 1 s (common practice) [s]
DAMPING_RATIO = 0.01                # steel shaft line without a damping coupling, 0.5 to 2 % (common practice)


def estimate_pump_inertia(power: float, speed: float) -> Estimate:
    """Inertia of a centrifugal pump with the water in it: 1.5e7 (P/N^3)^0.9556, P in kW and N in rpm.

    Parameters
    ----------
    power, speed : float
        Shaft power [W] and speed [rad/s] at the duty point.  > 0

    Returns
    -------
    inertia : Estimate
        [kg m2]; single machines scatter by a factor of about 2 around the fit.

    Sources
    -------
    [1].
    """
    rpm = speed * 30.0 / pi
    value = 1.5e7 * (power / 1e3 / rpm**3) ** 0.9556
    return Estimate(value, "1.5e7 (P/N^3)^0.9556, kW and rpm, water included (Thorley, Fluid Transients in Pipeline "
                           "Systems; from memory, to be checked)")


def estimate_compressor_inertia(power: float, speed: float) -> Estimate:
    """Inertia of a centrifugal compressor from a kinetic constant of 0.5 s.

    Parameters
    ----------
    power, speed : float
        Shaft power [W] and the compressor's own speed [rad/s] at the duty point.  > 0

    Returns
    -------
    inertia : Estimate
        At that speed, with no gear. [kg m2]
    """
    value = 2.0 * COMPRESSOR_KINETIC_CONSTANT * power / speed**2
    return Estimate(value, f"kinetic energy at duty speed over duty power {COMPRESSOR_KINETIC_CONSTANT:g} s "
                           "(common practice, 0.3 to 1 s)")


def kinetic_constant(inertia: float, speed: float, power: float) -> float:
    """Kinetic energy at a speed [rad/s] over a power [W], J w^2/(2 P), known as H. [s]"""
    return 0.5 * inertia * speed**2 / power


def torsional_stiffness(length: float, diameter: float, shear_modulus: float = STEEL_SHEAR_MODULUS) -> float:
    """Torque per twist of a solid round shaft, G pi d^4/(32 l), from length and diameter [m]. [N m/rad]"""
    return shear_modulus * pi * diameter**4 / (32.0 * length)


def natural_frequency(stiffness: float, first_inertia: float, second_inertia: float) -> float:
    """Undamped natural frequency of two masses [kg m2] joined by a shaft [N m/rad]. [Hz]"""
    return sqrt(stiffness * (1.0 / first_inertia + 1.0 / second_inertia)) / (2.0 * pi)


def estimate_torsional_damping(stiffness: float, first_inertia: float, second_inertia: float) -> Estimate:
    """Damping of the twist of two masses on a shaft, 1 % of critical: 2 z sqrt(k J1 J2/(J1 + J2)).

    Parameters
    ----------
    stiffness : float
        [N m/rad]  > 0
    first_inertia, second_inertia : float
        [kg m2]  > 0

    Returns
    -------
    damping : Estimate
        Torque per rate of twist. [N m s/rad]
    """
    reduced = first_inertia * second_inertia / (first_inertia + second_inertia)
    return Estimate(2.0 * DAMPING_RATIO * sqrt(stiffness * reduced),
                    f"{100.0 * DAMPING_RATIO:g} % of critical damping (common practice, 0.5 to 2 %)")
