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
