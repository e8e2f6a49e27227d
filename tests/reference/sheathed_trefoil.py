"""Three sheathed cables in trefoil by the formulae of handbooks and of IEC 60287-1-1, sheaths bonded at both ends.

Reactance and loss of the sheaths: clause 2.3 of the standard, as quoted in a public script that works CIGRE TB 880.
"""

from math import log, pi


def find_inductance(diameter, spacing):
    """Inductance per phase of solid conductors at low frequency, sheaths without current. [H/m]

    0.05 + 0.2 ln(2 s/d) mH/km, in any handbook on power cables; diameter and spacing in [m].
    """
    return 2e-7 * (0.25 + log(2.0 * spacing / diameter))


def find_sheath_reactance(frequency, spacing, mean_diameter):
    """Reactance of a sheath at a frequency [Hz]; spacing and mean diameter in [m]. [ohm/m]"""
    return 4e-7 * pi * frequency * log(2.0 * spacing / mean_diameter)


def find_circulating_loss(sheath_resistance, reactance, resistance):
    """Loss of the currents that circulate in the sheaths, in parts of the conductor's; all in [ohm/m]. [1]"""
    return sheath_resistance / resistance / (1.0 + (sheath_resistance / reactance) ** 2)
