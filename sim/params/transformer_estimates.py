"""What a transformer's nameplate does not say, estimated from its rated power; winding resistance from loss.

Estimates are straight lines over the logarithm of rated power between points of common practice and keep
the end values outside: they are for a first study and give way to data of the machine.

Sources
-------
IEC 60076-5, table of the least short-circuit impedances of two-winding transformers (from memory, to be
checked).  All else is common practice.
"""

from math import log, sqrt

from sim.params.estimate import Estimate

# rated power up to [VA] and least short-circuit impedance [pu]
LEAST_IMPEDANCE = [(630e3, 0.04), (1.25e6, 0.05), (2.5e6, 0.06), (6.3e6, 0.07), (25e6, 0.08), (40e6, 0.10),
                   (63e6, 0.11), (100e6, 0.125)]
OVER_THE_TABLE = 0.125
X_OVER_R = [(0.1e6, 2.0), (1e6, 8.0), (5e6, 12.0), (10e6, 15.0), (20e6, 20.0), (100e6, 35.0)]
NO_LOAD_CURRENT = [(0.1e6, 0.02), (1e6, 0.01), (10e6, 0.005), (100e6, 0.002)]
NO_LOAD_LOSS = [(0.1e6, 0.0025), (1e6, 0.0015), (10e6, 0.001), (100e6, 0.0005)]
AIR_CORE_REACTANCE = [(1e6, 0.2), (10e6, 0.3), (100e6, 0.4)]
WINDING_CAPACITANCE = [(0.1e6, 1e-9), (1e6, 2e-9), (10e6, 3e-9), (100e6, 6e-9)]
BUSHING_CAPACITANCE = [(12e3, 0.1e-9), (36e3, 0.2e-9), (145e3, 0.4e-9)]


def interpolate_log(points: list[tuple[float, float]], x: float) -> float:
    """Straight lines over the logarithm of x through ascending points; the end values beyond them."""
    if x <= points[0][0]:
        return points[0][1]
    for (low, before), (high, after) in zip(points, points[1:]):
        if x <= high:
            return before + (after - before) * log(x / low) / log(high / low)
    return points[-1][1]


def estimate_impedance(rated_va: float) -> Estimate:
    """Short-circuit impedance on the transformer's own base from its rated power [VA]. [pu]

    The least value of IEC 60076-5; subsea units are commonly ordered with 8 to 10 %.
    """
    for most, impedance in LEAST_IMPEDANCE:
        if rated_va <= most:
            return Estimate(impedance, f"least value up to {most / 1e6:g} MVA of IEC 60076-5 (from memory, to be "
                                       "checked); 8 to 10 % is common practice subsea")
    return Estimate(OVER_THE_TABLE, "more than 100 MVA, where IEC 60076-5 leaves it to agreement: its last value "
                                    "(from memory, to be checked)")


def estimate_x_over_r(rated_va: float) -> Estimate:
    """Ratio of leakage reactance to winding resistance from the rated power [VA]."""
    return Estimate(interpolate_log(X_OVER_R, rated_va),
                    "by rated power: 8 at 1 MVA, 12 at 5 MVA, 15 at 10 MVA, 20 at 20 MVA (common practice)")


def resistance_from_load_loss(load_loss: float, rated_va: float) -> float:
    """Resistance of both windings together from the load loss [W] at rated current: P/S. [pu, own base]"""
    return load_loss / rated_va


def x_over_r_from_load_loss(load_loss: float, rated_va: float, impedance: float) -> float:
    """Ratio of leakage reactance to winding resistance from load loss [W] and impedance.

    Parameters
    ----------
    load_loss : float
        Loss in the windings at rated current and operating temperature. [W]  > 0
    rated_va : float
        [VA]  > 0
    impedance : float
        Short-circuit impedance on the transformer's own base. [pu]  > 0

    Raises
    ------
    ValueError
        When the loss asks for more resistance than the impedance holds.
    """
    resistance = resistance_from_load_loss(load_loss, rated_va)
    if not 0.0 < resistance < impedance:
        raise ValueError(f"load loss {load_loss:g} W of {rated_va:g} VA is a resistance of {resistance:g} pu: it must "
                         f"be > 0 and < the impedance {impedance:g} pu")
    return sqrt((impedance / resistance) ** 2 - 1.0)


def estimate_no_load_current(rated_va: float) -> Estimate:
    """No-load current at rated voltage, of rated current, from the rated power [VA]. [pu]"""
    return Estimate(interpolate_log(NO_LOAD_CURRENT, rated_va),
                    "by rated power: 1 % at 1 MVA, 0.5 % at 10 MVA, 0.2 % at 100 MVA (common practice)")


def estimate_no_load_loss(rated_va: float) -> Estimate:
    """Loss of the core at rated voltage, of rated power, from the rated power [VA]. [pu]"""
    return Estimate(interpolate_log(NO_LOAD_LOSS, rated_va),
                    "by rated power: 0.15 % at 1 MVA, 0.1 % at 10 MVA, 0.05 % at 100 MVA (common practice)")


def estimate_air_core_reactance(rated_va: float) -> Estimate:
    """Reactance of the energised winding with its core saturated, own base, from the rated power [VA]. [pu]"""
    return Estimate(interpolate_log(AIR_CORE_REACTANCE, rated_va),
                    "by rated power: 20 % at 1 MVA, 30 % at 10 MVA, 40 % at 100 MVA (common practice)")


def estimate_winding_capacitance(rated_va: float) -> Estimate:
    """Capacitance to earth per phase of one winding from the rated power [VA], an order of magnitude. [F]"""
    return Estimate(interpolate_log(WINDING_CAPACITANCE, rated_va),
                    "by rated power: 2 nF at 1 MVA, 3 nF at 10 MVA, 6 nF at 100 MVA (common practice, order of "
                    "magnitude)")


def estimate_bushing_capacitance(rated_voltage: float) -> Estimate:
    """Capacitance to earth of one bushing from the rated line-to-line voltage [V], an order of magnitude. [F]"""
    return Estimate(interpolate_log(BUSHING_CAPACITANCE, rated_voltage),
                    "by rated voltage: 0.1 nF at 12 kV, 0.2 nF at 36 kV, 0.4 nF at 145 kV (common practice, order of "
                    "magnitude)")
