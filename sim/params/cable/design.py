"""From the construction of a three-core cable to its distributed parameters.

The radii follow from cross-section, insulation, screen, sheath and armour; the impedance of both sequences
follows from the radii (`cable_impedance`) and is fitted over the band by a circuit the simulation can
carry (`foster`).

Valid for
---------
Three screened round cores in trefoil under one armour, screens and armour earthed at both ends, 0.1 Hz to
20 kHz.  Layers that nobody states have usual thicknesses: semiconductors 0.8 mm (1.2 mm on insulation of
9 mm and more), 0.6 mm of tape under the metal, 2 mm of jacket on each core, 2 mm bedding, 3 mm serving
(common practice).  Screen and armour take 80 and 60 % of the conductor's rise above 20 degC (common
practice).

Sources
-------
IEC 60228, IEC 60502-2, IEC 60287-1-1 through `conductor_data` and `iec60287`; the impedances through
`cable_impedance`.
"""

from functools import lru_cache
from math import log10, pi, sqrt
from typing import NamedTuple

import numpy as np

from sim.params.cable import conductors as data
from sim.params.cable import iec60287
from sim.params.cable.foster import FosterFit, fit_foster, foster_impedance
from sim.params.cable.impedance import CrossSection, Tube, positive_impedance, zero_dc_resistance, zero_impedance

MM = 1e-3
SEMICONDUCTOR, THICK_SEMICONDUCTOR, THICK_FROM = 0.8 * MM, 1.2 * MM, 9.0 * MM
TAPE, JACKET, BEDDING, SERVING = 0.6 * MM, 2.0 * MM, 2.0 * MM, 3.0 * MM
SCREEN_SHARE, ARMOUR_SHARE = 0.8, 0.6
ARMOUR_COVER = 0.95                 # of the circumference that the wires fill (common practice)
ARMOUR_PERMEABILITY = 10.0          # across wires that touch, IEC 60287-1-1 (from memory, to be checked)
BAND = (0.1, 20e3)                  # Hz
POINTS_PER_DECADE = 8
POSITIVE_ERROR = 0.005              # of |Z|: keeps the damping resistance within some 5 % up to the end of the band
ZERO_ERROR = 0.015                  # the construction is not known better for the return path


class Construction(NamedTuple):
    """What is known of a three-core cable.

    Attributes
    ----------
    conductor_area : float
        Nominal. [m2]
    conductor : str
        "copper" or "aluminium".
    insulation_thickness : float
        [m]
    permittivity, loss_tangent : float
        Of the insulation. [1]
    screen_area : float
        Copper wires or tape around each core, 0 for none. [m2]
    sheath_thickness : float
        Lead around each core, 0 for none. [m]
    armour_diameter : float
        Of the steel wires, one layer, 0 for none. [m]
    spacing : float or None
        Between the axes of two cores; None when the cores touch. [m]
    temperature : float
        Of the conductor. [degC]
    in_water : bool
        Whether sea water surrounds the cable and returns zero-sequence current.
    """

    conductor_area: float
    conductor: str
    insulation_thickness: float
    permittivity: float = 2.5
    loss_tangent: float = 0.004
    screen_area: float = 16e-6
    sheath_thickness: float = 0.0
    armour_diameter: float = 5e-3
    spacing: float | None = None
    temperature: float = 90.0
    in_water: bool = True


class Layout(NamedTuple):
    """Radii of a core from the inside, axis distance, and radii of the cable. [m]  0 for what is absent."""

    conductor: float
    insulation_inner: float
    insulation_outer: float
    screen_inner: float
    screen_outer: float
    core: float
    spacing: float
    armour_inner: float
    armour_outer: float
    outer: float


class CableConstants(NamedTuple):
    """Distributed parameters of a cable.

    Attributes
    ----------
    frequency : float
        At which resistances, inductances, surge impedance and speed are stated. [Hz]
    dc_resistance : float
        Of the conductor at its temperature. [ohm/m]
    ac_resistance_iec : float
        Of the conductor by IEC 60287, without losses in screen and armour. [ohm/m]
    positive, zero : FosterFit
    resistance, inductance, zero_resistance, zero_inductance : float
        Of the fits at `frequency`, losses in the metal around included. [ohm/m, H/m]
    capacitance, zero_capacitance : float
        Equal: every core has its own screen. [F/m]
    conductance : float
        Of the insulation at `frequency`, from the loss tangent. [S/m]
    surge_impedance, velocity : float
        Lossless, with the positive sequence's inductance at `frequency`. [ohm, m/s]
    front_surge_impedance, front_velocity : float
        The same with the inductance at the top of the band. [ohm, m/s]
    layout : Layout
    """

    frequency: float
    dc_resistance: float
    ac_resistance_iec: float
    positive: FosterFit
    zero: FosterFit
    resistance: float
    inductance: float
    zero_resistance: float
    zero_inductance: float
    capacitance: float
    zero_capacitance: float
    conductance: float
    surge_impedance: float
    velocity: float
    front_surge_impedance: float
    front_velocity: float
    layout: Layout


@lru_cache(maxsize=256)
def design_cable(construction: Construction, frequency: float) -> CableConstants:
    """Distributed parameters from the construction.

    Parameters
    ----------
    construction : Construction
    frequency : float
        Rated frequency. [Hz]  > 0

    Returns
    -------
    CableConstants
        Its fits' errors say how well they follow the impedance over `BAND`.

    Raises
    ------
    ValueError
        With every mistake of the construction.

    Sources
    -------
    See the head of this module.
    """
    layout = lay_out(construction)
    section = find_section(construction, layout)
    resistance = _hot_conductor(construction)
    positive = fit_band(positive_impedance, section, resistance, POSITIVE_ERROR)
    zero = fit_band(zero_impedance, section, zero_dc_resistance(section), ZERO_ERROR)
    capacitance = iec60287.core_capacitance(construction.permittivity, layout.insulation_inner,
                                            layout.insulation_outer)
    r1, l1 = read_fit(positive, frequency)
    r0, l0 = read_fit(zero, frequency)
    top = read_fit(positive, BAND[1])[1]
    return CableConstants(
        frequency, resistance,
        iec60287.ac_resistance(resistance, frequency, 2.0 * layout.conductor, layout.spacing),
        positive, zero, r1, l1, r0, l0, capacitance, capacitance,
        2.0 * pi * frequency * capacitance * construction.loss_tangent,
        sqrt(l1 / capacitance), 1.0 / sqrt(l1 * capacitance),
        sqrt(top / capacitance), 1.0 / sqrt(top * capacitance), layout)


def lay_out(construction: Construction) -> Layout:
    """Radii from the inside to the outside.

    Raises
    ------
    ValueError
        With every mistake of the construction.
    """
    c = construction
    _check(c)
    conductor = data.conductor_diameter(c.conductor_area) / 2.0
    semiconductor = THICK_SEMICONDUCTOR if c.insulation_thickness >= THICK_FROM else SEMICONDUCTOR
    inner = conductor + semiconductor
    outer = inner + c.insulation_thickness
    screen = outer + semiconductor + TAPE
    metal = sqrt((screen + c.sheath_thickness) ** 2 + c.screen_area / pi)
    core = metal + JACKET
    spacing = 2.0 * core if c.spacing is None else c.spacing
    if spacing < 2.0 * metal:
        raise ValueError(f"spacing of the cores is {spacing / MM:.4g} mm: their screens alone are {2e3 * metal:.4g} mm "
                         "wide; give a larger spacing, or none for cores that touch")
    bundle = spacing / sqrt(3.0) + max(core, spacing / 2.0) + BEDDING
    armour = bundle if c.armour_diameter > 0.0 else 0.0
    return Layout(conductor, inner, outer, screen, metal, core, spacing, armour,
                  armour + c.armour_diameter, bundle + c.armour_diameter + SERVING)


def find_section(construction: Construction, layout: Layout) -> CrossSection:
    """Current-carrying cross-section at operating temperature.

    Screen wires and lead sheath become one tube with the resistance of both in parallel.
    """
    rise = construction.temperature - data.REFERENCE_TEMPERATURE
    warm = data.REFERENCE_TEMPERATURE + SCREEN_SHARE * rise
    copper, lead = (data.heat(data.METALS[m].resistivity, m, warm) for m in ("copper", "lead"))
    lead_area = pi * ((layout.screen_inner + construction.sheath_thickness) ** 2 - layout.screen_inner**2)
    conductance = construction.screen_area / copper + lead_area / lead
    area = pi * (layout.screen_outer**2 - layout.screen_inner**2)
    conductor = _hot_conductor(construction) * pi * layout.conductor**2
    return CrossSection(layout.conductor, conductor,
                        Tube(layout.screen_inner, layout.screen_outer, area / conductance), layout.spacing,
                        construction.sheath_thickness / lead, _armour(layout, rise), layout.outer,
                        construction.in_water)


def fit_band(impedance, section, dc_resistance, error):
    """Circuit of an impedance function of (s, section) over `BAND`, to an error of its magnitude."""
    frequency = np.geomspace(*BAND, int(POINTS_PER_DECADE * log10(BAND[1] / BAND[0])) + 1)
    return fit_foster(frequency, impedance(2j * pi * frequency, section), dc_resistance, error)


def read_fit(fit: FosterFit, frequency: float) -> tuple[float, float]:
    """Resistance [ohm/m] and inductance [H/m] of a fit at a frequency [Hz]."""
    z = complex(foster_impedance(fit, 2j * pi * frequency))
    return z.real, z.imag / (2.0 * pi * frequency)


def adjust(fit: FosterFit, frequency: float, resistance: float | None = None,
           inductance: float | None = None) -> FosterFit:
    """Shift R and L of a fit so that it gives stated values at a frequency; its pairs stay.

    Parameters
    ----------
    fit : FosterFit
    frequency : float
        [Hz]
    resistance, inductance : float or None
        Stated values at that frequency, None to leave the fit's own. [ohm/m, H/m]

    Returns
    -------
    FosterFit

    Raises
    ------
    ValueError
        If R or L would not stay positive.
    """
    r, l = read_fit(fit, frequency)
    series = fit.resistance + (0.0 if resistance is None else resistance - r)
    leak = fit.inductance + (0.0 if inductance is None else inductance - l)
    mistakes = []
    if resistance is not None and not series > 0.0:
        mistakes.append(f"resistance of {resistance * 1e3:.4g} ohm/km at {frequency:g} Hz is below the "
                        f"{(r - fit.resistance) * 1e3:.4g} ohm/km that skin effect and screens alone add")
    if inductance is not None and not leak > 0.0:
        mistakes.append(f"inductance of {inductance * 1e6:.4g} mH/km at {frequency:g} Hz is below the "
                        f"{(l - fit.inductance) * 1e6:.4g} mH/km that goes with skin effect and screens alone")
    if mistakes:
        raise ValueError("; ".join(mistakes) + ": state the constants without the construction, or correct one of them")
    return fit._replace(resistance=series, inductance=leak)


def _hot_conductor(construction):
    cold = data.dc_resistance(construction.conductor_area, construction.conductor)
    return iec60287.hot_resistance(cold, construction.conductor, construction.temperature)


def _armour(layout, rise):
    """Armour as a tube of equal conductance, None without; the wires' lay (3 % of length) is left out."""
    if layout.armour_outer <= layout.armour_inner:
        return None
    steel = data.heat(data.METALS["steel"].resistivity, "steel", data.REFERENCE_TEMPERATURE + ARMOUR_SHARE * rise)
    return Tube(layout.armour_inner, layout.armour_outer, steel / (ARMOUR_COVER * pi / 4.0), ARMOUR_PERMEABILITY)


def _check(c):
    """Raise with every mistake that the radii would hide."""
    mistakes = []
    for name, value, unit, scale in (("cross-section of the conductor", c.conductor_area, "mm2", data.MM2),
                                     ("thickness of the insulation", c.insulation_thickness, "mm", MM)):
        if not value > 0.0:
            mistakes.append(f"{name} is {value / scale:g} {unit}: it must be above 0")
    if c.conductor not in data.RESISTANCE_OHM_PER_KM:
        mistakes.append(f"conductor is {c.conductor!r}: it must be copper or aluminium")
    if not c.permittivity >= 1.0:
        mistakes.append(f"permittivity is {c.permittivity:g}: it must be at least 1")
    if min(c.screen_area, c.sheath_thickness, c.armour_diameter) < 0.0:
        mistakes.append("screen, sheath and armour must not be negative")
    elif not c.screen_area + c.sheath_thickness > 0.0:
        mistakes.append("neither screen nor sheath: each core needs one of them to be earthed")
    if mistakes:
        raise ValueError("; ".join(mistakes))
