"""Cables from their construction: usual layers where none are stated, and the electrical record they lead to.

Loaded only for cables whose construction is given: the fits need SciPy.
"""

from typing import Any

import numpy as np

from sim.case.book.databook import Book
from sim.case.records.cable_lines import make_line
from sim.components.branches.cable import BUILD, Line
from sim.components.fields import Filled, given
from sim.params.cable import conductors as data
from sim.params.cable.design import CableConstants, adjust, design_cable, read_fit
from sim.params.cable.layers import Construction, find_armour_loss, find_armour_share, is_magnetic
from sim.params.voltage_classes import find_class
from sim.units import Record, convert

DERIVED_KEYS = {"resistance_ohm_per_km": 1e3, "inductance_mh_per_km": 1e6, "capacitance_uf_per_km": 1e9}


def complete(line: Line, voltage_class: float) -> dict[str, Filled]:
    """Layers that follow from others, by key; the voltage class in kV."""
    klass = line.voltage_class_kv or find_class(voltage_class)
    permittivity = data.find_insulation(line.insulation).permittivity
    area = given(line.conductor_mm2) * 1e-6
    screen = data.screen_area(area, line.sheath_mm * 1e-3)
    filled = {} if line.insulation_mm is not None else {"insulation_mm": find_thickness(klass)}
    layer = data.semiconductor_thickness(1e-3 * (line.insulation_mm or filled["insulation_mm"].value))
    return filled | {
        "conductor_diameter_mm": Filled(1e3 * data.conductor_diameter(area),
                                        f"compacted round conductor, {100.0 * data.COMPACTION:g} % metal "
                                        "(common practice)"),
        "inner_semiconductor_mm": Filled(1e3 * layer.value, layer.basis),
        "outer_semiconductor_mm": Filled(1e3 * layer.value, layer.basis),
        "voltage_class_kv": Filled(klass, "class next above rated_kv, else above the voltage of its node", "derived"),
        "permittivity": Filled(permittivity, f"usual for {line.insulation}"),
        "screen_mm2": Filled(1e6 * screen.value, screen.basis),
    }


def find_thickness(voltage_class: float) -> Filled:
    """Usual insulation of a voltage class [kV]."""
    thickness = data.insulation_thickness(voltage_class * 1e3)
    return Filled(1e3 * thickness.value, f"{thickness.basis}, for {voltage_class:g} kV")


def derive(line: Line, path: str, values: dict[str, Any], frequency: float, book: Book) -> dict[str, Any]:
    """Electrical record of both sequences; constants given hold at rated frequency.

    Parameters
    ----------
    line : Line
        As written.
    path : str
    values : dict
        Completed, in the units of the case file.
    frequency : float
        Rated frequency. [Hz]
    book : Book

    Returns
    -------
    dict
        "positive", "zero" and "design", the construction's own constants.

    Raises
    ------
    ValueError
        When construction and constants contradict each other.
    """
    construction = make_construction(values, frequency)
    design = design_cable(construction, frequency)
    stated = vars(convert({key: values[key] for key in values if key.endswith("_per_km")}))
    fits = {sequence: adjust(getattr(design, sequence), frequency, stated[f"{prefix}resistance_ohm_per_m"],
                             stated[f"{prefix}inductance_h_per_m"])
            for sequence, prefix in (("positive", ""), ("zero", "zero_"))}
    capacitance = stated["capacitance_f_per_m"] or design.capacitance
    farads = {"positive": capacitance, "zero": stated["zero_capacitance_f_per_m"] or capacitance}
    lines = {sequence: make_line(fit.resistance, fit.inductance, farads[sequence], stated["conductance_s_per_m"],
                                 fit.branch_resistance, fit.branch_inductance) for sequence, fit in fits.items()}
    enter_armour(path, construction, frequency, book)
    enter_derived(path, lines, fits, design, frequency, book)
    return {**lines, "design": design, "construction": construction}


def make_construction(values: dict[str, Any], frequency: float) -> Construction:
    """Construction in SI from the values of the case file; a loss of the armour holds at a frequency [Hz].

    Raises
    ------
    ValueError
        With the mistakes of the construction where it gives a loss of the armour, or when that is impossible.
    """
    si = vars(convert({key: values[key] for key in BUILD}))
    found = Construction(
        si["conductor_m2"], si["conductor"], si["insulation_m"], si["permittivity"],
        data.find_insulation(si["insulation"]).loss_tangent, si["screen_m2"], si["sheath_m"], si["armour_m"],
        si["spacing_m"], si["temperature_degc"], si["in_water"], si["conductor_diameter_m"],
        si["inner_semiconductor_m"], si["outer_semiconductor_m"], si["armour"])
    loss = si["armour_loss_pu"]
    return found if loss is None else found._replace(armour_share=find_armour_share(found, frequency, loss))


def enter_derived(path: str, lines: dict[str, Record], fits: dict[str, Any], design: CableConstants, frequency: float,
                  book: Book) -> None:
    """Enter what the construction led to, unless the case file gives it."""
    sources = list_sources(path, book)
    for prefix, sequence in (("", "positive"), ("zero_", "zero")):
        resistance, inductance = read_fit(fits[sequence], frequency)
        count = len(fits[sequence].branch_resistance)
        basis = (f"construction, {sequence} sequence at {frequency:g} Hz; {count} Foster branches, "
                 f"error {100.0 * fits[sequence].error:.2g} % from 0.1 Hz to 20 kHz")
        found = {"resistance_ohm_per_km": resistance, "inductance_mh_per_km": inductance,
                 "capacitance_uf_per_km": lines[sequence].capacitance_f_per_m}
        for key, value in found.items():
            if f"{path}.{prefix}{key}" not in book.entries:
                book.derive(f"{path}.{prefix}{key}", DERIVED_KEYS[key] * value, basis, sources)
    area = book.entries[f"{path}.conductor_mm2"]["value_si"]
    book.derive(f"{path}.dc_resistance_ohm_per_km", 1e3 * design.dc_resistance,
                f"{data.resistance_basis(area)}, at the temperature of the conductor", sources)
    book.derive(f"{path}.conductor_resistance_ohm_per_km", 1e3 * design.ac_resistance_iec,
                f"IEC 60287-1-1 with skin and proximity effect at {frequency:g} Hz, screens and armour left out",
                sources)


def enter_armour(path: str, construction: Construction, frequency: float, book: Book) -> None:
    """Enter the loss in magnetic armour that the positive sequence holds, unless the case file gives it."""
    if is_magnetic(construction) and f"{path}.armour_loss_pct" not in book.entries:
        book.derive(f"{path}.armour_loss_pct", 100.0 * find_armour_loss(construction, frequency),
                    f"IEC 60287-1-1 at {frequency:g} Hz; measured losses are often half of it and less (from memory)",
                    list_sources(path, book))


def list_sources(path: str, book: Book) -> list[str]:
    """Paths of what the data book has of a construction."""
    return [f"{path}.{key}" for key in BUILD if f"{path}.{key}" in book.entries]


def sample_impedance(construction: Construction, count: int = 200) -> dict[str, np.ndarray]:
    """Impedances of both sequences by Bessel functions over the band: frequency [Hz], positive, zero [ohm/m]."""
    from sim.params.cable.design import BAND
    from sim.params.cable.impedance import positive_impedance, zero_impedance
    from sim.params.cable.layers import find_section, lay_out
    frequency = np.geomspace(*BAND, count)
    section = find_section(construction, lay_out(construction))
    s = 2j * np.pi * frequency
    return {"frequency_hz": frequency, "positive": positive_impedance(s, section), "zero": zero_impedance(s, section)}
