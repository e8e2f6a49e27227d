r"""Series impedance of a three-core cable against frequency, from its cross-section.

Every conductor is a loop with the next one around it (core-screen, screen-armour, armour-sea), coupled to
its neighbours by the transfer impedance of the metal between them.  Screens and armour are earthed at both
ends, so their voltages vanish and the outer loops are eliminated one by one from the outside,

    Z = z_11 - z_12^2 / (z_22 - z_23^2 / (z_33 ...))

which keeps the result positive real.

Positive sequence: the fluxes of the three cores leave (mu0/2 pi) ln(S/r) around each screen, S the distance
of the axes.  The neighbours' field also drives eddy currents across each core.  To first order they form a
dipole: a round conductor of radius a in a transverse field answers with the potential
a^2 (J2/J0)(k a) / r, k^2 = -s mu0/rho, and in a trefoil the dipoles of the two neighbours return
s mu0/(2 pi) 1.5 (a/S)^2 J2/J0 to each phase.  A closed lead sheath adds a thin shell of the same kind; the
wires of a screen are transposed by their lay and do not.  Magnetic armour answers to the dipole of all three
cores (`armour`).

Zero sequence: the three cores share armour and sea, so their impedances count three times per core.

Valid for
---------
Quasi-TEM: wavelength in the insulation well above the diameter, displacement current in metal and water
negligible (to some MHz).  Dipole terms only: the next ones are (a/S)^2 smaller.  In the zero sequence armour
wires count as a tube of equal conductance whose circumferential permeability is that of touching wires.  Return
through soil is not modelled: without water, current returns in screen and armour alone.

Sources
-------
.. [1] S. A. Schelkunoff, "The electromagnetic theory of coaxial transmission lines and cylindrical shields",
       Bell System Technical Journal 13, 1934: eq. 64-82, solid and tubular conductors, transfer impedance.
.. [2] M. Bianchi, G. Luoni, "Induced currents and losses in single-core submarine cables", IEEE Trans. PAS-95,
       1976 (from memory, to be checked): sea as a conductor without outer boundary.
.. [3] W. R. Smythe, *Static and Dynamic Electricity*, eddy currents in a cylinder in a transverse field (from
       memory, to be checked); derived anew above.
"""

from typing import NamedTuple

import numpy as np
from scipy.special import ive, kve

from sim.params.cable.armour import Reaction, reaction_impedance

VACUUM_PERMEABILITY = 4e-7 * np.pi              # H/m
LOOP = VACUUM_PERMEABILITY / (2.0 * np.pi)
SEA_RESISTIVITY = 0.25                          # ohm m, about 35 g/kg salt at 4 to 10 degC (common practice)


class Tube(NamedTuple):
    """Tubular conductor: radii [m], resistivity [ohm m], relative permeability [1]."""

    inner: float
    outer: float
    resistivity: float
    permeability: float = 1.0


class CrossSection(NamedTuple):
    """What carries current in a three-core cable.

    Attributes
    ----------
    conductor_radius : float
        [m]
    conductor_resistivity : float
        Of a solid conductor of that radius with the stranded one's DC resistance. [ohm m]
    screen : Tube
        Screen and sheath of a core as one tube.
    spacing : float
        Distance of the axes of two cores. [m]
    sheet_conductance : float
        Conductivity times thickness of the closed part of the screen, 0 for wires. [S]
    armour : Tube or None
    outer_radius : float
        Of the cable, where the water begins. [m]
    in_water : bool
    reaction : Reaction or None
        Of magnetic armour to the positive sequence.
    """

    conductor_radius: float
    conductor_resistivity: float
    screen: Tube
    spacing: float
    sheet_conductance: float = 0.0
    armour: Tube | None = None
    outer_radius: float = 0.0
    in_water: bool = False
    reaction: Reaction | None = None


def propagation(s, resistivity, permeability=1.0):
    """Propagation constant sqrt(s mu / rho) in a metal at s [rad/s], real part positive. [1/m]"""
    return np.sqrt(np.asarray(s, dtype=complex) * VACUUM_PERMEABILITY * permeability / resistivity)


def solid_impedance(s, radius, resistivity, permeability=1.0):
    """Internal impedance of a solid round conductor.

    Parameters
    ----------
    s : ndarray, complex
        Complex angular frequency, real part >= 0, not 0. [rad/s]
    radius : float
        [m]
    resistivity : float
        [ohm m]
    permeability : float
        Relative. [1]

    Returns
    -------
    ndarray, complex
        [ohm/m]

    Sources
    -------
    [1] eq. 64.
    """
    m = propagation(s, resistivity, permeability)
    return resistivity * m / (2.0 * np.pi * radius) * ive(0, m * radius) / ive(1, m * radius)


def tube_impedances(s, tube):
    """Inner, outer and transfer impedance of a tube.

    Parameters
    ----------
    s : ndarray, complex
        Complex angular frequency, real part >= 0, not 0. [rad/s]
    tube : Tube

    Returns
    -------
    inner, outer, transfer : ndarray, complex
        Return inside, return outside, and between the two surfaces. [ohm/m]

    Sources
    -------
    [1] eq. 75, 77 and 79.
    """
    m = propagation(s, tube.resistivity, tube.permeability)
    near, far = m * tube.inner, m * tube.outer
    fall = np.exp(-(far - near))                # every pair is scaled by exp(far - near): nothing overflows
    below = _i(1, far) * kve(1, near) - _i(1, near) * kve(1, far) * fall**2
    inner = kve(0, near) * _i(1, far) + _i(0, near) * kve(1, far) * fall**2
    outer = _i(0, far) * kve(1, near) + kve(0, far) * _i(1, near) * fall**2
    unit = tube.resistivity * m / (2.0 * np.pi)
    transfer = tube.resistivity / (2.0 * np.pi * tube.inner * tube.outer) * fall / below
    return unit / tube.inner * inner / below, unit / tube.outer * outer / below, transfer


def impedance_within(s, tube, around=None):
    """What the loop inside an earthed tube sees of it: z_11 - z_12^2 / z_22. [ohm/m]

    `around` is the rest of the loop outside, of the shape of s [ohm/m]; None when nothing returns outside.
    """
    inner, outer, transfer = tube_impedances(s, tube)
    return inner if around is None else inner - transfer**2 / (outer + around)


def sea_impedance(s, radius, resistivity=SEA_RESISTIVITY):
    """Impedance of the return through water all around a cable of given outer radius [m]. [ohm/m]

    s mu0/(2 pi) K0(m r) / (m r K1(m r)); it falls to 0 with frequency, its resistance as w mu0/8.

    Sources
    -------
    [2]
    """
    m = propagation(s, resistivity) * radius
    return np.asarray(s) * LOOP * kve(0, m) / (m * kve(1, m))


def dipole_response(s, section):
    """Dipole that a core returns in a transverse field, over the square of the screen's mean radius.

    Conductor inside, thin closed sheath (if any) outside; -1 for a core that lets no field in.

    Parameters
    ----------
    s : ndarray, complex
        [rad/s]
    section : CrossSection

    Returns
    -------
    ndarray, complex
        [1]
    """
    radius = 0.5 * (section.screen.inner + section.screen.outer)
    m = propagation(s, section.conductor_resistivity) * section.conductor_radius
    inside = -((section.conductor_radius / radius) ** 2) * ive(2, m) / ive(0, m)
    slope = (1.0 - inside) / (1.0 + inside)
    slope = slope + np.asarray(s) * VACUUM_PERMEABILITY * section.sheet_conductance * radius
    return (1.0 - slope) / (1.0 + slope)


def proximity_impedance(s, section):
    """What the dipoles of the two neighbours return to a phase that carries all its current. [ohm/m]"""
    radius = 0.5 * (section.screen.inner + section.screen.outer)
    return np.asarray(s) * LOOP * 1.5 * (radius / section.spacing) ** 2 * dipole_response(s, section)


def positive_impedance(s, section):
    """Series impedance of the positive sequence, screens bonded at both ends.

    Parameters
    ----------
    s : ndarray, complex
        Complex angular frequency, real part >= 0, not 0. [rad/s]
    section : CrossSection

    Returns
    -------
    ndarray, complex
        [ohm/m]
    """
    around = np.asarray(s) * LOOP * np.log(section.spacing / section.screen.outer) + proximity_impedance(s, section)
    if section.reaction is not None:
        around = around + reaction_impedance(np.asarray(s), section.reaction)
    return _core_loop(s, section) + impedance_within(s, section.screen, around)


def zero_impedance(s, section):
    """Series impedance of the zero sequence per core, screens and armour earthed at both ends. [ohm/m]

    Arguments as in `positive_impedance`.
    """
    return _core_loop(s, section) + impedance_within(s, section.screen, _around_screens(s, section))


def zero_dc_resistance(section):
    """Limit of the zero-sequence resistance at frequency 0; water carries everything there. [ohm/m]"""
    core = section.conductor_resistivity / (np.pi * section.conductor_radius**2)
    if section.in_water:
        return core
    conductance = 1.0 / tube_resistance(section.screen)
    if section.armour is not None:
        conductance += 1.0 / (3.0 * tube_resistance(section.armour))
    return core + 1.0 / conductance


def tube_resistance(tube):
    """DC resistance of a tube. [ohm/m]"""
    return tube.resistivity / (np.pi * (tube.outer**2 - tube.inner**2))


def _core_loop(s, section):
    """Conductor and the flux between conductor and screen, without the screen itself."""
    within = np.log(section.screen.inner / section.conductor_radius)
    return solid_impedance(s, section.conductor_radius, section.conductor_resistivity) + np.asarray(s) * LOOP * within


def _around_screens(s, section):
    """Flux around a screen in the zero sequence, armour and sea, per core; None when nothing is around."""
    if section.armour is None and not section.in_water:
        return None
    edge = section.outer_radius if section.armour is None else section.armour.inner
    bundle = np.asarray(s) * LOOP * np.log(edge**3 / (section.screen.outer * section.spacing**2))
    return bundle + 3.0 * _common_return(s, section)


def _common_return(s, section):
    """Armour and sea as the three screens see them together."""
    if section.armour is None:
        return sea_impedance(s, section.outer_radius)
    if not section.in_water:
        return impedance_within(s, section.armour)
    serving = np.asarray(s) * LOOP * np.log(section.outer_radius / section.armour.outer)
    return impedance_within(s, section.armour, serving + sea_impedance(s, section.outer_radius))


def _i(order, z):
    """Modified Bessel function of the first kind times exp(-z), for a real part that is not negative."""
    return ive(order, z) * np.exp(-1j * z.imag)
