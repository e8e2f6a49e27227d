"""Cables from their construction, sections in series, and what the data book says of them."""

import numpy as np
import pytest

from sim.errors import CaseError
from sim.params.cable.modes import series_impedance

from ..sample import make, parse

BUILT = {"name": "umbilical", "from": "cable_head", "to": "cable_end", "length_km": 28.0, "conductor_mm2": 240}


def with_cable(**values):
    return parse(make(cable=[{key: value for key, value in (BUILT | values).items() if value is not None}]))


def at_rated(line, hz=50.0):
    """Resistance [ohm/m] and inductance [H/m] of a line's record at a frequency."""
    s = 2j * np.pi * hz
    branches = zip(line.branch_resistance_ohm_per_m, line.branch_inductance_h_per_m)
    z = series_impedance(s, line.resistance_ohm_per_m, line.inductance_h_per_m, branches)
    return z.real, z.imag / s.imag


def test_defaults_of_a_construction_and_their_grades():
    used = with_cable(grade="B").used
    assert used["umbilical.voltage_class_kv"]["value"] == 36.0          # next above the 33 kV of its nodes
    assert used["umbilical.insulation_mm"]["value"] == pytest.approx(8.0)     # IEC 60502-2
    assert used["umbilical.conductor_mm2"]["grade"] == "B" and used["umbilical.armour_mm"]["grade"] == "D"
    derived = used["umbilical.resistance_ohm_per_km"]
    assert (derived["origin"], derived["grade"]) == ("derived", "D") and "Foster" in derived["basis"]
    resistance = used["umbilical.dc_resistance_ohm_per_km"]
    assert resistance["value"] == pytest.approx(0.0754 * 1.2751, rel=1e-3)      # IEC 60228 at 90 degC
    assert resistance["basis"] == "IEC 60228 class 2, at the temperature of the conductor"
    odd = with_cable(conductor_mm2=250.0).used["umbilical.dc_resistance_ohm_per_km"]
    assert odd["basis"].startswith("between the neighbouring sizes of IEC 60228")


def test_constants_given_beside_a_construction_hold_at_rated_frequency():
    case = with_cable(resistance_ohm_per_km=0.11, inductance_mh_per_km=0.38, capacitance_uf_per_km=0.24)
    (section,) = case.cables[0].sections
    assert at_rated(section.positive) == (pytest.approx(0.11e-3, rel=1e-9), pytest.approx(0.38e-6, rel=1e-9))
    assert section.positive.capacitance_f_per_m == pytest.approx(0.24e-9)
    assert case.used["umbilical.resistance_ohm_per_km"]["origin"] == "given"


def test_constants_that_contradict_the_construction_are_refused():
    with pytest.raises(CaseError, match="umbilical: resistance of .* is below"):
        with_cable(resistance_ohm_per_km=1e-5)


def test_resistance_rises_and_inductance_falls_with_frequency():
    (section,) = with_cable().cables[0].sections
    for line in (section.positive, section.zero):
        values = np.array([at_rated(line, hz) for hz in (1.0, 50.0, 500.0, 5000.0)])
        assert (np.diff(values[:, 0]) > 0.0).all() and (np.diff(values[:, 1]) < 0.0).all()


def test_neither_constants_nor_construction():
    with pytest.raises(CaseError, match="or conductor_mm2 to derive them from the construction"):
        with_cable(conductor_mm2=None, resistance_ohm_per_km=0.1)


def test_sections_inherit_and_join():
    sections = [{"length_km": 2.0, "temperature_degc": 20.0}, {"length_km": 25.0},
                {"length_km": 1.0, "conductor_mm2": 150}]
    case = with_cable(length_km=None, section=sections)
    cable = case.cables[0]
    assert cable.length_m == 28e3 and cable.joints == ["umbilical.joint_1", "umbilical.joint_2"]
    assert [section.length_m for section in cable.sections] == [2e3, 25e3, 1e3]
    cold, warm, thin = (section.positive.resistance_ohm_per_m for section in cable.sections)
    assert cold < warm < thin
    joints = [node for node in case.nodes if node.name in cable.joints]
    head = next(node for node in case.nodes if node.name == "cable_head")
    assert [node.nominal_v for node in joints] == [head.nominal_v] * 2 and joints[0].island == head.island
    assert case.used["umbilical.length_km"]["origin"] == "derived"
    assert case.used["umbilical.section[3].conductor_mm2"]["value"] == 150
    assert case.used["umbilical.section[1].temperature_degc"]["value"] == 20.0


def test_sections_and_a_length_of_the_whole():
    with pytest.raises(CaseError, match="umbilical.length_km = 28.0: follows from the sections"):
        with_cable(section=[{"length_km": 28.0}])


def test_section_without_length():
    with pytest.raises(CaseError, match=r"umbilical.section\[1\].length_km"):
        with_cable(length_km=None, section=[{"temperature_degc": 20.0}])


def test_layers_as_stated_and_their_usual_values():
    used = with_cable().used
    for key, value in {"conductor_diameter_mm": 18.22, "inner_semiconductor_mm": 0.8,
                       "outer_semiconductor_mm": 0.8}.items():
        entry = used[f"umbilical.{key}"]
        assert entry["value"] == pytest.approx(value, abs=0.01)
        assert entry["grade"] == "D" and "common practice" in entry["basis"]
    usual, stated = with_cable(), with_cable(conductor_diameter_mm=18.22, inner_semiconductor_mm=0.8, grade="A")
    assert stated.used["umbilical.conductor_diameter_mm"]["grade"] == "A"
    layouts = [case.cables[0].sections[0].design.layout for case in (usual, stated)]
    assert layouts[1].screen_outer == pytest.approx(layouts[0].screen_outer, rel=2e-4)
    thick = with_cable(insulation_mm=10.0).used["umbilical.outer_semiconductor_mm"]
    assert thick["value"] == pytest.approx(1.2) and "insulation of 9 mm" in thick["basis"]


def test_armour_in_the_data_book():
    steel = with_cable(grade="B")
    entry = steel.used["umbilical.armour_loss_pct"]
    assert (entry["origin"], entry["grade"]) == ("derived", "D") and entry["basis"].startswith("IEC 60287-1-1 at 50 Hz")
    assert entry["value"] == pytest.approx(14.85, abs=0.01)
    assert "umbilical.armour_loss_pct" not in with_cable(armour="bronze").used
    stated = with_cable(armour_loss_pct=6.0, grades={"armour_loss_pct": "A"})
    assert (stated.used["umbilical.armour_loss_pct"]["origin"], stated.used["umbilical.armour_loss_pct"]["grade"]) == (
        "given", "A")
    bare, some, full = (at_rated(case.cables[0].sections[0].positive)[0]
                        for case in (with_cable(armour_loss_pct=0.0), stated, steel))
    conductor = steel.cables[0].sections[0].design.ac_resistance_iec
    # the screens' share adds a tenth, the fits 0.5 % of |Z| = 0.75 % of R each
    assert some - bare == pytest.approx(0.06 * conductor, abs=0.02 * conductor) and some < full


def test_armour_loss_without_steel():
    with pytest.raises(CaseError, match="umbilical: only magnetic armour has a loss of its own"):
        with_cable(armour="stainless", armour_loss_pct=5.0)
    with pytest.raises(CaseError, match="umbilical: diameter of the conductor is 15 mm: too thin for 240 mm2"):
        with_cable(conductor_diameter_mm=15.0)
