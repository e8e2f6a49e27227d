r"""AC resistance, capacitance and charging of a cable after IEC 60287-1-1.

Valid for
---------
Round conductors in trefoil at power frequency, xs and xp up to about 5 (skin effect) and 2.8 (proximity
effect); the screens' and the armour's loss factors are not part of the resistance given here.

Sources
-------
.. [1] IEC 60287-1-1, clause 2.1 (resistance), as quoted in a public script that works the cases of CIGRE TB 880; the
       range of xs up to 5 for the third formula is from memory.
"""

from math import log, pi

from sim.params.cable.conductors import heat

VACUUM_PERMITTIVITY = 8.8541878128e-12      # F/m, CODATA 2018
IN_STEEL = 1.5                              # [1] clause 2.1.5: cables in a steel pipe


def skin_argument(resistance: float, frequency: float, coefficient: float = 1.0) -> float:
    """x of IEC 60287: sqrt(8 pi f 1e-7 k / R').

    Parameters
    ----------
    resistance : float
        DC resistance at operating temperature. [ohm/m]  > 0
    frequency : float
        [Hz]  >= 0
    coefficient : float
        ks or kp; 1 for round stranded copper. [1]

    Returns
    -------
    float
        [1]
    """
    return (8e-7 * pi * frequency * coefficient / resistance) ** 0.5


def skin_factor(x: float) -> float:
    """ys of IEC 60287 in its three ranges of xs [1]."""
    if x <= 2.8:
        return x**4 / (192.0 + 0.8 * x**4)
    if x <= 3.8:
        return -0.136 - 0.0177 * x + 0.0563 * x**2
    return 0.354 * x - 0.733


def proximity_factor(x: float, diameter: float, spacing: float) -> float:
    """yp of IEC 60287 for three round conductors.

    Parameters
    ----------
    x : float
        xp, not above 2.8 for the formula's accuracy. [1]
    diameter, spacing : float
        Diameter of the conductors and distance of their axes. [m]

    Returns
    -------
    float
        [1]
    """
    f = x**4 / (192.0 + 0.8 * x**4)
    ratio = (diameter / spacing) ** 2
    return f * ratio * (0.312 * ratio + 1.18 / (f + 0.27))


def ac_resistance(resistance: float, frequency: float, diameter: float, spacing: float, ks: float = 1.0,
                  kp: float = 1.0, in_steel: bool = False) -> float:
    """AC resistance of a conductor.

    Parameters
    ----------
    resistance : float
        DC resistance at operating temperature, see `hot_resistance`. [ohm/m]
    frequency : float
        [Hz]
    diameter, spacing : float
        Diameter of the conductors and distance of their axes. [m]
    ks, kp : float
        Coefficients of skin and proximity effect; 1 for round stranded copper.
    in_steel : bool
        Whether the cores lie in a steel pipe: both effects count 1.5 times.

    Returns
    -------
    float
        [ohm/m]

    Sources
    -------
    [1] clause 2.1.
    """
    added = skin_factor(skin_argument(resistance, frequency, ks))
    added += proximity_factor(skin_argument(resistance, frequency, kp), diameter, spacing)
    return resistance * (1.0 + (IN_STEEL if in_steel else 1.0) * added)


def hot_resistance(resistance: float, metal: str, temperature: float) -> float:
    """DC resistance [ohm/m] at an operating temperature [degC] from that at 20 degC."""
    return heat(resistance, metal, temperature)


def core_capacitance(permittivity: float, inner_radius: float, outer_radius: float) -> float:
    """Capacitance of a screened core between the radii [m] of its insulation. [F/m]

    The semiconducting layers belong to conductor and screen, equipotentials both: D_i of the standard is the diameter
    over the insulation without the screen, d_c that of the conductor with it (IEC 60287-1-1, clause on dielectric
    losses).
    """
    return 2.0 * pi * VACUUM_PERMITTIVITY * permittivity / log(outer_radius / inner_radius)


def charging_current(capacitance: float, frequency: float, voltage: float) -> float:
    """Charging current per core at line-to-line rms voltage [V] for C [F/m]; times the length for C [F]. [A/m]"""
    return 2.0 * pi * frequency * capacitance * voltage / 3.0**0.5


def charging_power(capacitance: float, frequency: float, voltage: float) -> float:
    """Reactive power of all three cores at line-to-line rms voltage [V] for C [F/m]. [var/m]"""
    return 2.0 * pi * frequency * capacitance * voltage**2
