"""The supply of a first study: short-circuit power where none is given, and conversions to it."""

from math import sqrt

from sim.params.estimate import Estimate

TIMES_LARGEST_START = 20.0
X_OVER_R = 10.0


def start_power(rated_va: float, locked_rotor_current: float) -> float:
    """Apparent power of a direct start at rated voltage: rated input [VA] times locked-rotor current [pu]. [VA]"""
    return rated_va * locked_rotor_current


def estimate_short_circuit_power(largest_start: float) -> Estimate:
    """Three-phase short-circuit power of a host that was chosen for its largest start.

    Parameters
    ----------
    largest_start : float
        Apparent power of the largest start at rated voltage. [VA]  > 0

    Returns
    -------
    power : Estimate
        20 times the start: a dip of at most 1/21, or 4.8 %, at the host. [VA]
    """
    return Estimate(TIMES_LARGEST_START * largest_start,
                    f"{TIMES_LARGEST_START:g} times the largest start, a dip of about 5 % at the host (common "
                    "practice)")


def estimate_x_over_r() -> Estimate:
    """Ratio of reactance to resistance of the short-circuit impedance of a host switchboard."""
    return Estimate(X_OVER_R, "common practice for a host switchboard")


def power_from_current(short_circuit_current: float, voltage: float) -> float:
    """Three-phase short-circuit power from current [A RMS] and line-to-line voltage [V]: sqrt(3) V I. [VA]"""
    return sqrt(3.0) * voltage * short_circuit_current
