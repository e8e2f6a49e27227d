"""The [[cable]] table: a symmetrical three-core cable from constants per length or from its construction."""

from math import sqrt
from typing import Annotated, Literal

from pydantic import Field

from sim.components.fields import Component, Filled, Graded, Name, given, quantity
from sim.components.fields import setting as choice

Charges = Annotated[list[Annotated[float, Field(ge=-2, le=2)]], Field(min_length=3, max_length=3)]

LIGHT_KM_PER_S = 299_792.458        # exact, definition of the metre
CONSTANTS = ("resistance_ohm_per_km", "inductance_mh_per_km", "capacitance_uf_per_km")
ZERO_CONSTANTS = ("zero_resistance_ohm_per_km", "zero_inductance_mh_per_km", "zero_capacitance_uf_per_km")
DERIVED = "derived from the construction (conductor_mm2)"
BUILD = ("conductor_mm2", "conductor", "conductor_diameter_mm", "voltage_class_kv", "insulation", "insulation_mm",
         "inner_semiconductor_mm", "outer_semiconductor_mm", "permittivity", "screen_mm2", "sheath_mm", "armour_mm",
         "armour", "armour_loss_pct", "spacing_mm", "temperature_degc", "in_water")
FOUND = (*CONSTANTS, *ZERO_CONSTANTS, "armour_loss_pct")     # what a construction leads to where it is not given


class Line(Graded):
    """What a cable and each of its sections have: constants per length, or a construction to derive them from."""

    resistance_ohm_per_km: float | None = quantity(
        "resistance per phase at operating temperature and rated frequency", least=1e-6, most=50, default=None,
        basis=DERIVED)
    inductance_mh_per_km: float | None = quantity(
        "inductance per phase at rated frequency, positive sequence", least=1e-4, most=10, default=None, basis=DERIVED)
    capacitance_uf_per_km: float | None = quantity(
        "capacitance per phase, positive sequence", least=1e-6, most=5, default=None, basis=DERIVED)
    zero_resistance_ohm_per_km: float | None = quantity(
        "zero-sequence resistance", least=1e-6, most=200, default=None,
        basis="from the construction, else 4 times the positive sequence", role="minor")
    zero_inductance_mh_per_km: float | None = quantity(
        "zero-sequence inductance", least=1e-4, most=50, default=None,
        basis="from the construction, else 3 times the positive sequence", role="minor")
    zero_capacitance_uf_per_km: float | None = quantity(
        "zero-sequence capacitance", least=1e-6, most=5, default=None,
        basis="equal to the positive sequence: every core has its own screen", role="minor")
    conductance_us_per_km: float = quantity("shunt conductance per phase", least=0, most=1000, default=0.0,
                                            basis="losses of extruded insulation are negligible", role="minor")
    conductor_mm2: float | None = quantity("cross-section of the conductor", least=10, most=3000, default=None,
                                          basis="constants per length are given")
    conductor: Literal["copper", "aluminium"] = choice("metal of the conductor", "copper",
                                                       "common practice in subsea cables")
    conductor_diameter_mm: float | None = quantity(
        "diameter of the conductor, as measured or stated", least=2, most=100, default=None,
        basis="compacted round conductor of conductor_mm2")
    voltage_class_kv: float | None = quantity(
        "highest voltage the cable is built for, line-to-line RMS (IEC 60502-2)", least=1, most=400, default=None,
        basis="rated_kv, else the class next above the voltage of its node")
    insulation: Literal["xlpe", "epr", "paper"] = choice("insulation", "xlpe", "common practice")
    insulation_mm: float | None = quantity(
        "thickness of the insulation without the semiconducting layers, as measured or nominal", least=0.5, most=60,
        default=None, basis="by voltage_class_kv")
    inner_semiconductor_mm: float | None = quantity(
        "thickness of the semiconducting layer between conductor and insulation", least=0, most=10, default=None,
        basis="by insulation_mm")
    outer_semiconductor_mm: float | None = quantity(
        "thickness of the semiconducting layer over the insulation", least=0, most=10, default=None,
        basis="by insulation_mm")
    permittivity: float | None = quantity("relative permittivity of the insulation", least=1.5, most=8, default=None,
                                          basis="by insulation")
    screen_mm2: float | None = quantity("cross-section of the copper screen of each core", least=1, most=500,
                                        default=None, basis="by the conductor's cross-section")
    sheath_mm: float = quantity("thickness of a lead sheath over each core", least=0, most=10, default=0.0,
                                basis="no lead sheath")
    armour_mm: float = quantity("diameter of the wires of the armour, 0 for none", least=0, most=15, default=5.0,
                                basis="one layer of 5 mm wires (common practice)")
    armour: Literal["steel", "stainless", "bronze"] = choice(
        "metal of the armour: steel is magnetic, stainless and bronze are not", "steel",
        "galvanised steel wires (common practice)")
    armour_loss_pct: float | None = quantity(
        "loss in magnetic armour at rated frequency, of the loss in the conductors; 0 leaves the armour out of the "
        "positive sequence", least=0, most=200, default=None, basis="IEC 60287-1-1")
    spacing_mm: float | None = quantity("distance between the axes of two cores in trefoil", least=5, most=1000,
                                        default=None, basis="the cores touch")
    temperature_degc: float = quantity("temperature of the conductor", least=-20, most=250, default=90.0,
                                       basis="highest of extruded insulation: the weakest start")
    in_water: bool = choice("whether sea water surrounds the armour, true or false", True, "a subsea cable")


class Section(Line):
    """One of several sections of a cable in series: riser, static part, jumper."""

    length_km: float = quantity("length of the section", over=0, most=500)


class Cable(Component, Line):
    """Constants per length at rated frequency, positive and zero sequence."""

    from_node: Name = choice("node of the near end", alias="from")
    to_node: Name = choice("node of the far end", alias="to")
    length_km: float | None = quantity("length of the cable", over=0, most=500, default=None,
                                       basis="the sections added")
    rated_kv: float | None = quantity("rated line-to-line voltage of the cable", least=0.1, most=800,
                                      default=None, role="minor")
    ampacity_a: float | None = quantity("current the installed cable may carry", least=1, most=10000,
                                        default=None, role="minor")
    trapped_pu: Charges = choice(
        "charge left on phases a, b and c at the start, of the crest of nominal phase voltage", [0.0, 0.0, 0.0],
        "the cable is discharged", role="setting")
    section: list[Section] = Field(default_factory=list, description="sections in series, from near to far",
                                   json_schema_extra={"basis": "one uniform cable"})


def find_defaults(line: Line) -> dict[str, Filled]:
    """Zero sequence of a line given by constants only, by key."""
    return {
        "zero_resistance_ohm_per_km": Filled(4.0 * given(line.resistance_ohm_per_km),
                                             "4 times the positive sequence (common practice)"),
        "zero_inductance_mh_per_km": Filled(3.0 * given(line.inductance_mh_per_km),
                                            "3 times the positive sequence (common practice)"),
        "zero_capacitance_uf_per_km": Filled(line.capacitance_uf_per_km,
                                             "equal to the positive sequence: every core has its own screen"),
    }


def inherit(section: Section, cable: Cable) -> Section:
    """Section that takes from its cable whatever it does not say itself."""
    shared = (cable.model_fields_set & set(Line.model_fields)) - section.model_fields_set
    return section.model_copy(update={name: getattr(cable, name) for name in shared})


def is_built(line: Line) -> bool:
    """Whether the construction of a line is given."""
    return line.conductor_mm2 is not None


def find_speed(inductance_mh_per_km: float, capacitance_uf_per_km: float) -> float:
    """Speed of a wave on the lossless line, 1/sqrt(LC). [km/s]"""
    return 1.0 / sqrt(inductance_mh_per_km * 1e-3 * capacitance_uf_per_km * 1e-6)
