r"""What an armour of magnetic wires around three cores does to the positive sequence.

Outside a trefoil of balanced currents the field is a rotating dipole.  The armour answers with a dipole inside,
which returns to each phase

    Z = s mu0/(2 pi) 1.5 (2c/d_A)^2 G(s),       c from the axis of the cable to that of a core, d_A mean diameter

with G from -1 (a shell that lets no field out) to 1 (the flux closes in steel without loss).  The loss factor of
IEC 60287-1-1 for round conductors in trefoil under steel wires,

    lambda_2 R = 1.23 R_A (2c/d_A)^2 / (1 + (2.77e6 R_A / w)^2),

is the real part of a resistance in parallel with an inductance, R_1 = 1.23 R_A (2c/d_A)^2 with the corner
R_1/L_1 = 2.77e6 R_A [1/s].  A passive impedance with that resistance at every frequency is s (L_0 - L_1) and this
pair: the steel's share L_0 of the inductance at low frequency is all that the standard leaves open.  L_1 is a swing
of 1.48 of G, so G at low frequency lies between 0.48 and 1.  It is taken as 1, the limit of high permeability: with
usual layers that raises the inductance at 50 Hz by 3 to 12 % under wires of 5 and 6 mm, and by 17 % under thin ones of
3 mm; handbooks say 5 to 10 % of steel-armoured cables (common practice, from memory).

The screens' currents weaken the dipole; `positive_impedance` reckons with them: of the conductor's current they leave
the square that is the standard's factor 1 - (R/R_S) lambda_1' for cores with a sheath each.  In turn the armour's flux
adds to the current and loss of the screens.

Valid for
---------
One closed layer of magnetic wires around three round cores in trefoil, 10 to 100 Hz: the standard states its formula
for 50 and 60 Hz and prints how it goes with frequency.  Beyond some 100 Hz an extrapolation, in which R_1 is the most
that the armour adds while the screens keep the field away from it more and more.  The standard is on the safe side:
measured armour losses of submarine cables, whose wires cross the cores at another lay, are often a half of it and
less (CIGRE session 2010, paper B1-116, from memory, to be checked); `share` scales the whole effect to a measured
loss.  Saturation and hysteresis of the wires at high current, and what the armour adds to skin and proximity effect
of the conductors (the factor 1.5 of pipes, a few per cent), are left out.  Wires that are not magnetic are transposed
by their lay like those of a screen and do nothing here.

Sources
-------
.. [1] IEC 60287-1-1, clauses on armour losses: three-core cables with round conductors under steel wire, cores with
       a sheath each, resistance of the wires at power frequency 1.2 to 1.4 times that at direct current (from
       memory; the loss factor checked against a worked cable of 30 kV, see the tests).
.. [2] W. R. Smythe, *Static and Dynamic Electricity*, images in a cylinder (from memory); derived above.
"""

from typing import NamedTuple

from numpy import interp, pi

HEIGHT = 1.23                       # [1]
CORNER = 2.77e6                     # [1] (1/s)/(ohm/m)
IMAGE = 3e-7                        # mu0/(2 pi) 1.5 [H/m]
WIRE_DIAMETERS, WIRE_FACTORS = (2e-3, 5e-3), (1.2, 1.4)     # AC over DC resistance of steel wires [1]
MOST_SHARE = 2.0 * IMAGE / (HEIGHT / CORNER)                # beyond it G would swing by more than from 1 to -1


class Reaction(NamedTuple):
    """What the armour returns to a phase: s (low - R/corner) and R in parallel with R/corner.

    Attributes
    ----------
    low : float
        Inductance at low frequency. [H/m]
    resistance : float
        At high frequency. [ohm/m]
    corner : float
        Angular frequency of the pair. [1/s]
    """

    low: float
    resistance: float
    corner: float


def wire_resistance(dc_resistance: float, wire: float) -> float:
    """Resistance of steel armour at 50 or 60 Hz.

    Parameters
    ----------
    dc_resistance : float
        Of all wires in parallel at their temperature. [ohm/m]
    wire : float
        Diameter of a wire. [m]

    Returns
    -------
    float
        1.2 times up to 2 mm, 1.4 times from 5 mm, straight in between [1]. [ohm/m]
    """
    return dc_resistance * float(interp(wire, WIRE_DIAMETERS, WIRE_FACTORS))


def armour_loss_factor(resistance: float, armour_resistance: float, reach: float, diameter: float,
                       frequency: float) -> float:
    """lambda_2 of IEC 60287-1-1, without the screens' currents.

    Parameters
    ----------
    resistance : float
        AC resistance of a conductor. [ohm/m]
    armour_resistance : float
        Of the armour at power frequency, see `wire_resistance`. [ohm/m]
    reach : float
        From the axis of the cable to that of a core. [m]
    diameter : float
        Mean diameter of the armour. [m]
    frequency : float
        [Hz]  > 0

    Returns
    -------
    float
        Loss in the armour over that in the conductors. [1]

    Sources
    -------
    [1]
    """
    lag = CORNER * armour_resistance / (2.0 * pi * frequency)
    return HEIGHT * armour_resistance / resistance * (2.0 * reach / diameter) ** 2 / (1.0 + lag**2)


def screening_factor(screen_resistance: float, reactance: float) -> float:
    """1 - (R/R_S) lambda_1' of IEC 60287-1-1: what the screens' currents leave of the armour's loss.

    With lambda_1' = (R_S/R) / (1 + (R_S/X)^2) it is R_S^2/(R_S^2 + X^2), X the reactance of a screen. [ohm/m]
    """
    return screen_resistance**2 / (screen_resistance**2 + reactance**2)


def find_reaction(armour_resistance: float, reach: float, diameter: float, share: float = 1.0) -> Reaction:
    """Reaction of steel armour, to add to the flux between the screens.

    Parameters
    ----------
    armour_resistance, reach, diameter : float
        As in `armour_loss_factor`. [ohm/m, m, m]
    share : float
        Of the standard's effect, 0 to `MOST_SHARE`. [1]

    Returns
    -------
    Reaction

    Sources
    -------
    [1] for the resistance, the head of this module for the inductance.
    """
    near = share * (2.0 * reach / diameter) ** 2
    low = min(IMAGE * near, IMAGE * (2.0 * reach / diameter) ** 2)
    return Reaction(low, HEIGHT * near * armour_resistance, CORNER * armour_resistance)


def reaction_impedance(s, reaction: Reaction):
    """Impedance of a reaction at complex angular frequency s [rad/s], shape of s. [ohm/m]"""
    turned = reaction.resistance / reaction.corner
    return s * (reaction.low - turned) + s * reaction.resistance / (s + reaction.corner)
