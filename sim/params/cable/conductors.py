"""Tables of conductors, metals and insulation for cables whose construction is all that is known.

Everything in and out is SI; the tables are kept in the units the standards print.  No numpy here: the case
layer fills defaults from these tables.

Valid for
---------
Circular compacted stranded conductors (class 2) of plain copper or aluminium, 10 to 2500 mm2; radial-field
cores of 3.6 to 245 kV.

Sources
-------
.. [1] IEC 60228, table 2: largest resistance at 20 degC.  16 to 630 mm2 read in two independent public
       tables; the other sizes from memory, to be checked.
.. [2] IEC 60502-2, table of insulation thickness.  12, 24 and 36 kV read in a public reproduction, 3.6, 7.2
       and 17.5 kV from memory, to be checked.  Above 36 kV thickness is the maker's choice: usual values
       (common practice, from memory, to be checked).
.. [3] IEC 60287-1-1, table 1 (resistivity, temperature coefficient) and table 3 (permittivity, loss factor).
"""

from bisect import bisect_left
from math import exp, log, pi, sqrt
from typing import NamedTuple

from sim.params.estimate import Estimate

MM2 = 1e-6
MM = 1e-3
REFERENCE_TEMPERATURE = 20.0        # degC, of all resistances and coefficients here
COMPACTION = 0.92                   # metal in the circle around a compacted round conductor (common practice)
SEMICONDUCTOR, THICK_SEMICONDUCTOR, THICK_FROM = 0.8 * MM, 1.2 * MM, 9.0 * MM

AREAS_MM2 = (10, 16, 25, 35, 50, 70, 95, 120, 150, 185, 240, 300, 400, 500, 630, 800, 1000, 1200, 1400, 1600,
             1800, 2000, 2500)
READ_MM2 = (16, 630)                # sizes in between were read, the others are from memory
RESISTANCE_OHM_PER_KM = {           # [1]
    "copper": (1.83, 1.15, 0.727, 0.524, 0.387, 0.268, 0.193, 0.153, 0.124, 0.0991, 0.0754, 0.0601, 0.0470,
               0.0366, 0.0283, 0.0221, 0.0176, 0.0151, 0.0129, 0.0113, 0.0101, 0.0090, 0.0072),
    "aluminium": (3.08, 1.91, 1.20, 0.868, 0.641, 0.443, 0.320, 0.253, 0.206, 0.164, 0.125, 0.100, 0.0778,
                  0.0605, 0.0469, 0.0367, 0.0291, 0.0247, 0.0212, 0.0186, 0.0165, 0.0149, 0.0127),
}
INSULATION_MM = {                   # [2] by highest voltage, kV
    3.6: 2.5, 7.2: 2.5, 12.0: 3.4, 17.5: 4.5, 24.0: 5.5, 36.0: 8.0, 52.0: 9.0, 72.5: 10.0, 123.0: 15.0,
    145.0: 17.0, 170.0: 18.0, 245.0: 22.0,
}
READ_KV = (12.0, 24.0, 36.0)


class Metal(NamedTuple):
    """Resistivity at 20 degC [ohm m] and its temperature coefficient [1/K]."""

    resistivity: float
    coefficient: float


class Insulation(NamedTuple):
    """Relative permittivity and loss tangent at power frequency."""

    permittivity: float
    loss_tangent: float


METALS = {                          # [3]
    "copper": Metal(1.7241e-8, 3.93e-3),
    "aluminium": Metal(2.8264e-8, 4.03e-3),
    "lead": Metal(21.4e-8, 4.0e-3),
    "steel": Metal(13.8e-8, 4.5e-3),
    "stainless": Metal(70e-8, 0.0),         # not magnetic, as is bronze; both from memory, to be checked
    "bronze": Metal(3.5e-8, 3.0e-3),
}
MAGNETIC = ("steel",)
INSULATIONS = {                     # [3]
    "xlpe": Insulation(2.5, 0.004),
    "epr": Insulation(3.0, 0.020),
    "paper": Insulation(3.5, 0.0035),
}


def is_tabulated(area: float) -> bool:
    """Whether a cross-section [m2] is one of the standard's."""
    return any(abs(area / MM2 - each) < 1e-6 * each for each in AREAS_MM2)


def dc_resistance(area: float, metal: str) -> float:
    """Largest DC resistance of a class 2 conductor at 20 degC.

    Between two sizes of the table the product of resistance and cross-section goes with the logarithm of the
    cross-section; beyond its ends that product stays.

    Parameters
    ----------
    area : float
        Nominal cross-section. [m2]  > 0
    metal : str
        "copper" or "aluminium".

    Returns
    -------
    float
        [ohm/m]

    Raises
    ------
    ValueError
        For a cross-section that is not positive, or a metal without a table.

    Sources
    -------
    [1]
    """
    _check(metal, RESISTANCE_OHM_PER_KM, "conductor")
    if not area > 0.0:
        raise ValueError(f"cross-section of the conductor is {area / MM2:g} mm2: it must be above 0")
    table = RESISTANCE_OHM_PER_KM[metal]
    size = min(max(area / MM2, AREAS_MM2[0]), AREAS_MM2[-1])
    right = max(bisect_left(AREAS_MM2, size * (1.0 - 1e-9)), 1)
    a, b = AREAS_MM2[right - 1], AREAS_MM2[right]
    share = log(size / a) / log(b / a)
    product = exp((1.0 - share) * log(a * table[right - 1]) + share * log(b * table[right]))
    return product / (area / MM2) * 1e-3


def resistance_basis(area: float) -> str:
    """Where `dc_resistance` takes its value from, in words."""
    if not is_tabulated(area):
        return "between the neighbouring sizes of IEC 60228 class 2"
    read = READ_MM2[0] <= area / MM2 <= READ_MM2[1] * (1.0 + 1e-6)
    return "IEC 60228 class 2" if read else "IEC 60228 class 2 (from memory, to be checked)"


def heat(value: float, metal: str, temperature: float) -> float:
    """Resistance or resistivity at 20 degC carried to another temperature [degC], in the unit of `value`."""
    return value * (1.0 + METALS[metal].coefficient * (temperature - REFERENCE_TEMPERATURE))


def conductor_diameter(area: float) -> float:
    """Diameter of a compacted round conductor of nominal cross-section [m2]. [m]"""
    return sqrt(4.0 * area / (pi * COMPACTION))


def insulation_thickness(highest_voltage: float) -> Estimate:
    """Thickness of the insulation of a core.

    Parameters
    ----------
    highest_voltage : float
        Um, line-to-line rms. [V]  The next class of the table that is not below it counts.

    Returns
    -------
    Estimate
        [m]

    Raises
    ------
    ValueError
        Above the highest class of the table.

    Sources
    -------
    [2]
    """
    for kv, thickness in INSULATION_MM.items():
        if highest_voltage <= kv * 1e3 * (1.0 + 1e-9):
            return Estimate(thickness * MM, f"{_insulation_source(kv)}, {kv:g} kV")
    raise ValueError(f"no usual insulation thickness above {kv:g} kV ({highest_voltage / 1e3:g} kV given): "
                     "state the thickness")


def semiconductor_thickness(insulation_thickness: float) -> Estimate:
    """Extruded semiconducting layer inside or outside an insulation of some thickness [m]. [m]"""
    thick = insulation_thickness >= THICK_FROM
    return Estimate(THICK_SEMICONDUCTOR if thick else SEMICONDUCTOR,
                    "0.8 mm, on insulation of 9 mm and more 1.2 mm (common practice)")


def find_insulation(name: str) -> Insulation:
    """Permittivity and loss tangent of an insulation: "xlpe", "epr" or "paper"; ValueError for any other."""
    _check(name, INSULATIONS, "insulation")
    return INSULATIONS[name]


def screen_area(conductor_area: float, sheath_thickness: float = 0.0) -> Estimate:
    """Copper screen of a core: 16 mm2 up to a 120 mm2 conductor, 25 above, none under a lead sheath. [m2]"""
    if sheath_thickness > 0.0:
        return Estimate(0.0, "none: the lead sheath is the screen")
    size = 16.0 if conductor_area <= 120.0 * MM2 * (1.0 + 1e-9) else 25.0
    return Estimate(size * MM2, "16 mm2 up to a 120 mm2 conductor, 25 mm2 above (common practice)")


def _insulation_source(kv):
    if kv in READ_KV:
        return "IEC 60502-2"
    if kv <= READ_KV[-1]:
        return "IEC 60502-2 (from memory, to be checked)"
    return "usual thickness (common practice, from memory, to be checked)"


def _check(name, table, what):
    if name not in table:
        raise ValueError(f"{what} is {name!r}: it must be one of {', '.join(table)}")
