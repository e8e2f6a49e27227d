"""Layers of a three-core cable: from the construction to radii, and to what of them carries current.

Layers that nobody states have usual thicknesses: semiconductors 0.8 mm (1.2 mm on insulation of 9 mm and more),
0.6 mm of tape under the metal, 2 mm of jacket on each core, 2 mm bedding, 3 mm serving (common practice).
Semiconducting layers part conductor and screen like insulation but carry no charge: the inductance counts them and
the capacitance does not (IEC 60287-1-1).  Screen and armour take 80 and 60 % of the conductor's rise above 20 degC
(common practice).

Valid for
---------
Three screened round cores in trefoil under one armour.

Sources
-------
IEC 60228, IEC 60502-2, IEC 60287-1-1 through `conductors`, `iec60287` and `armour`.
"""

from math import log, pi, sqrt
from typing import NamedTuple

from sim.params.cable import armour, iec60287
from sim.params.cable import conductors as data
from sim.params.cable.impedance import CrossSection, Tube, tube_resistance

MM = 1e-3
TAPE, JACKET, BEDDING, SERVING = 0.6 * MM, 2.0 * MM, 2.0 * MM, 3.0 * MM
SCREEN_SHARE, ARMOUR_SHARE = 0.8, 0.6
ARMOURS = ("steel", "stainless", "bronze")
MOST_FILL = 1.1                     # nominal area over the conductor's circle: IEC 60228 holds resistance, not area
ARMOUR_COVER = 0.95                 # of the circumference that the wires fill (common practice)
ARMOUR_PERMEABILITY = 10.0          # across wires that touch, IEC 60287-1-1 (from memory, to be checked)


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
        Of its wires, one layer, 0 for none. [m]
    spacing : float or None
        Between the axes of two cores; None when the cores touch. [m]
    temperature : float
        Of the conductor. [degC]
    in_water : bool
        Whether sea water surrounds the cable and returns zero-sequence current.
    conductor_diameter : float or None
        None for that of a compacted conductor of the nominal area. [m]
    inner_semiconductor, outer_semiconductor : float or None
        Semiconducting layers inside and outside of the insulation; None for the usual thickness. [m]
    armour : str
        Metal of the wires: "steel", which is magnetic, "stainless" or "bronze", which are not.
    armour_share : float
        Effect of magnetic armour on the positive sequence over that of IEC 60287-1-1, see `find_armour_share`. [1]
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
    conductor_diameter: float | None = None
    inner_semiconductor: float | None = None
    outer_semiconductor: float | None = None
    armour: str = "steel"
    armour_share: float = 1.0


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


def lay_out(construction: Construction) -> Layout:
    """Radii from the inside to the outside.

    Raises
    ------
    ValueError
        With every mistake of the construction.
    """
    c = construction
    _check(c)
    conductor = (c.conductor_diameter or data.conductor_diameter(c.conductor_area)) / 2.0
    usual = data.semiconductor_thickness(c.insulation_thickness).value
    inner = conductor + (usual if c.inner_semiconductor is None else c.inner_semiconductor)
    outer = inner + c.insulation_thickness
    screen = outer + (usual if c.outer_semiconductor is None else c.outer_semiconductor) + TAPE
    metal = sqrt((screen + c.sheath_thickness) ** 2 + c.screen_area / pi)
    core = metal + JACKET
    spacing = 2.0 * core if c.spacing is None else c.spacing
    if spacing < 2.0 * metal:
        raise ValueError(f"spacing of the cores is {spacing / MM:.4g} mm: their screens alone are {2e3 * metal:.4g} mm "
                         "wide; give a larger spacing, or none for cores that touch")
    bundle = spacing / sqrt(3.0) + max(core, spacing / 2.0) + BEDDING
    under = bundle if c.armour_diameter > 0.0 else 0.0
    return Layout(conductor, inner, outer, screen, metal, core, spacing, under, under + c.armour_diameter,
                  bundle + c.armour_diameter + SERVING)


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
    conductor = hot_conductor(construction) * pi * layout.conductor**2
    return CrossSection(layout.conductor, conductor,
                        Tube(layout.screen_inner, layout.screen_outer, area / conductance), layout.spacing,
                        construction.sheath_thickness / lead, _armour(construction, layout), layout.outer,
                        construction.in_water, _react(construction, layout))


def is_magnetic(construction: Construction) -> bool:
    """Whether there is armour and its wires are magnetic."""
    return construction.armour_diameter > 0.0 and construction.armour in data.MAGNETIC


def find_armour_loss(construction: Construction, frequency: float) -> float:
    """Loss in the armour over that in the conductors by IEC 60287-1-1, the screens' currents reckoned with.

    Parameters
    ----------
    construction : Construction
        Its `armour_share` counts.
    frequency : float
        [Hz]

    Returns
    -------
    float
        lambda_2; 0 without magnetic armour. [1]
    """
    if not is_magnetic(construction):
        return 0.0
    layout = lay_out(construction)
    section = find_section(construction, layout)
    conductor = iec60287.ac_resistance(hot_conductor(construction), frequency, 2.0 * layout.conductor, layout.spacing)
    reactance = 4e-7 * pi * frequency * log(2.0 * layout.spacing / (layout.screen_inner + layout.screen_outer))
    full = armour.armour_loss_factor(conductor, *_place_armour(construction, layout), frequency)
    return construction.armour_share * full * armour.screening_factor(tube_resistance(section.screen), reactance)


def find_armour_share(construction: Construction, frequency: float, loss: float) -> float:
    """Share of the standard's effect that gives the armour a stated loss.

    Parameters
    ----------
    construction : Construction
    frequency : float
        At which the loss holds. [Hz]
    loss : float
        Loss in the armour over that in the conductors. [1]  >= 0

    Returns
    -------
    float
        [1]

    Raises
    ------
    ValueError
        For any loss without magnetic armour, or for one above what steel around the cores can have.
    """
    if loss == 0.0:
        return 0.0
    if not is_magnetic(construction):
        raise ValueError("only magnetic armour has a loss of its own: give armour_mm above 0 and armour = \"steel\", "
                         "or leave the loss out")
    full = find_armour_loss(construction._replace(armour_share=1.0), frequency)
    if loss > armour.MOST_SHARE * full:
        raise ValueError(f"loss of the armour is {100.0 * loss:.4g} % of that of the conductors: steel wires around "
                         f"these cores lose {100.0 * armour.MOST_SHARE * full:.4g} % at most at {frequency:g} Hz")
    return loss / full


def hot_conductor(construction: Construction) -> float:
    """DC resistance of a conductor at its temperature. [ohm/m]"""
    cold = data.dc_resistance(construction.conductor_area, construction.conductor)
    return iec60287.hot_resistance(cold, construction.conductor, construction.temperature)


def _armour(construction, layout):
    """Armour as a tube of equal conductance, None without; the wires' lay (3 % of length) is left out."""
    if layout.armour_outer <= layout.armour_inner:
        return None
    metal, rise = construction.armour, construction.temperature - data.REFERENCE_TEMPERATURE
    warm = data.heat(data.METALS[metal].resistivity, metal, data.REFERENCE_TEMPERATURE + ARMOUR_SHARE * rise)
    return Tube(layout.armour_inner, layout.armour_outer, warm / (ARMOUR_COVER * pi / 4.0),
                ARMOUR_PERMEABILITY if metal in data.MAGNETIC else 1.0)


def _place_armour(construction, layout):
    """Resistance of the armour at power frequency [ohm/m], distance of a core from the axis and mean diameter [m]."""
    wires = tube_resistance(_armour(construction, layout))
    return (armour.wire_resistance(wires, construction.armour_diameter), layout.spacing / sqrt(3.0),
            layout.armour_inner + layout.armour_outer)


def _react(construction, layout):
    """Reaction of the armour to the positive sequence, None where it is absent or not magnetic."""
    if not is_magnetic(construction) or construction.armour_share == 0.0:
        return None
    return armour.find_reaction(*_place_armour(construction, layout), construction.armour_share)


def _check(c):
    """Raise with every mistake that the radii would hide."""
    mistakes = []
    for name, value, unit, scale in (("cross-section of the conductor", c.conductor_area, "mm2", data.MM2),
                                     ("thickness of the insulation", c.insulation_thickness, "mm", MM)):
        if not value > 0.0:
            mistakes.append(f"{name} is {value / scale:g} {unit}: it must be above 0")
    if c.conductor not in data.RESISTANCE_OHM_PER_KM:
        mistakes.append(f"conductor is {c.conductor!r}: it must be copper or aluminium")
    if c.armour not in ARMOURS:
        mistakes.append(f"armour is {c.armour!r}: it must be {', '.join(ARMOURS[:-1])} or {ARMOURS[-1]}")
    if c.conductor_diameter is not None and c.conductor_area > MOST_FILL * pi / 4.0 * c.conductor_diameter**2:
        mistakes.append(f"diameter of the conductor is {c.conductor_diameter / MM:g} mm: too thin for "
                        f"{c.conductor_area / data.MM2:g} mm2, which as solid metal is "
                        f"{2e3 * sqrt(c.conductor_area / pi):.4g} mm wide")
    if min(c.inner_semiconductor or 0.0, c.outer_semiconductor or 0.0) < 0.0:
        mistakes.append("semiconducting layers must not be negative")
    if not c.permittivity >= 1.0:
        mistakes.append(f"permittivity is {c.permittivity:g}: it must be at least 1")
    if min(c.screen_area, c.sheath_thickness, c.armour_diameter) < 0.0:
        mistakes.append("screen, sheath and armour must not be negative")
    elif not c.screen_area + c.sheath_thickness > 0.0:
        mistakes.append("neither screen nor sheath: each core needs one of them to be earthed")
    if mistakes:
        raise ValueError("; ".join(mistakes))
