"""Magnetic armour in the positive sequence against IEC 60287-1-1, field theory and handbook rules."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sim.params.cable import armour as ca
from sim.params.cable import design as cd
from sim.params.cable import layers as cl
from sim.params.cable.foster import foster_impedance
from sim.params.cable.impedance import positive_impedance, proximity_impedance, tube_impedances, tube_resistance

EXACT = 1e-12
CABLE = cl.Construction(240e-6, "copper", 8e-3, screen_area=25e-6)                    # 36 kV, 240 mm2
LEAD = cl.Construction(630e-6, "copper", 8e-3, screen_area=0.0, sheath_thickness=2.3e-3, armour_diameter=6e-3)
SIZES = [CABLE._replace(conductor_area=mm2 * 1e-6) for mm2 in (95, 150, 240, 500)] + [LEAD]
BARE = {"armour_share": 0.0}

shares = st.floats(0.0, ca.MOST_SHARE)
resistances = st.floats(1e-5, 1e-3)
reaches = st.floats(5e-3, 80e-3)


@given(resistances, reaches, st.floats(2.0, 6.0), st.floats(1.0, 400.0))
def test_reaction_has_the_standards_resistance(wires, reach, over, hz):
    # lambda_2 R = 1.23 R_A (2c/d_A)^2 / ((2.77e6 R_A/w)^2 + 1), IEC 60287-1-1 (from memory), at every frequency
    omega = 2.0 * np.pi * hz
    printed = 1.23 * wires * (2.0 * reach / (over * reach)) ** 2 / ((2.77e6 * wires / omega) ** 2 + 1.0)
    found = ca.reaction_impedance(1j * omega, ca.find_reaction(wires, reach, over * reach))
    assert found.real == pytest.approx(printed, rel=1e-9)          # differences of nearly equal terms
    assert ca.armour_loss_factor(1.0, wires, reach, over * reach, hz) == pytest.approx(printed, rel=EXACT)


@given(resistances, reaches, st.floats(2.0, 6.0), shares)
def test_answer_stays_between_a_perfect_shell_and_lossless_steel(wires, reach, over, share):
    omega = np.geomspace(1.0, 1e7, 200)
    found = ca.reaction_impedance(1j * omega, ca.find_reaction(wires, reach, over * reach, share))
    most = 2e-7 * 1.5 * (2.0 / over) ** 2                          # image of the dipole in the mean circle
    assert np.all(np.abs(found) <= most * omega * (1.0 + 1e-9)) and np.all(found.real >= -1e-18)
    inductance, resistance = found.imag / omega, found.real
    assert np.all(np.diff(inductance) <= 1e-20) and np.all(np.diff(resistance) >= -1e-20)


@pytest.mark.parametrize("wire, factor", [(1e-3, 1.2), (2e-3, 1.2), (3.5e-3, 1.3), (5e-3, 1.4), (8e-3, 1.4)])
def test_wires_at_power_frequency(wire, factor):
    # 1.2 to 1.4 times the DC resistance with the diameter, IEC 60287-1-1 (from memory)
    assert ca.wire_resistance(2e-4, wire) == pytest.approx(2e-4 * factor, rel=EXACT)


@given(st.floats(1e-4, 1e-2), st.floats(1e-6, 1e-3), resistances)
def test_screening_is_the_standards_factor(screen, reactance, conductor):
    # 1 - (R/R_S) lambda_1', lambda_1' = (R_S/R) / (1 + (R_S/X)^2), IEC 60287-1-1 for cores with a sheath each
    first = screen / conductor / (1.0 + (screen / reactance) ** 2)
    assert ca.screening_factor(screen, reactance) == pytest.approx(1.0 - conductor / screen * first, rel=1e-9)


def test_screens_currents_weaken_the_armours_loss_by_that_factor():
    layout = cl.lay_out(LEAD)
    section = cl.find_section(LEAD, layout)
    s = np.array([100j * np.pi])
    apart = s * 2e-7 * np.log(2.0 * layout.spacing / (layout.screen_inner + layout.screen_outer))
    _, outer, transfer = tube_impedances(s, section.screen)
    net = transfer / (outer + apart)           # of the conductor's current, what leaves the screen
    factor = ca.screening_factor(tube_resistance(section.screen), apart.imag[0])
    # the exact tube carries its own flux, within the wall: some per mille
    assert np.abs(net[0]) ** 2 == pytest.approx(factor, rel=5e-3)


@pytest.mark.parametrize("cable", SIZES)
def test_rise_of_resistance_is_the_loss_factor(cable):
    bare, found = cd.design_cable(cable._replace(**BARE), 50.0), cd.design_cable(cable, 50.0)
    loss = cl.find_armour_loss(cable, 50.0)
    # beyond lambda_2 the armour's flux adds to the loss in the screens, 0 to 3 % of R; fits 0.5 % of |Z| each
    rise = (found.resistance - bare.resistance) / found.ac_resistance_iec
    fits = 0.01 * abs(complex(foster_impedance(found.positive, 100j * np.pi))) / found.ac_resistance_iec
    assert loss - fits < rise < loss + 0.03 + fits


@pytest.mark.parametrize("cable", SIZES)
def test_inductance_rises_as_handbooks_say(cable):
    # 5 to 10 % for steel-wire armour (common practice, from memory); 2 % more either way by the wires' size
    found, bare = (cd.design_cable(each, 50.0).inductance for each in (cable, cable._replace(**BARE)))
    assert 1.03 < found / bare < 1.12


def test_resistance_starts_at_that_of_direct_current_and_grows():
    found = cd.design_cable(CABLE, 50.0)
    assert found.positive.resistance == found.dc_resistance
    z = foster_impedance(found.positive, 2j * np.pi * np.geomspace(0.01, 1e5, 300))
    omega = 2.0 * np.pi * np.geomspace(0.01, 1e5, 300)
    assert np.all(np.diff(z.real) > 0.0) and np.all(np.diff(z.imag / omega) < 0.0)
    assert z.real[0] == pytest.approx(found.dc_resistance, rel=1e-5)


def test_fronts_do_not_see_the_armour():
    found, bare = cd.design_cable(CABLE, 50.0), cd.design_cable(CABLE._replace(**BARE), 50.0)
    # at 20 kHz the screens' currents keep the field in; the fits differ by 0.5 % of |Z|
    assert found.front_velocity == pytest.approx(bare.front_velocity, rel=3e-3)


@pytest.mark.parametrize("metal", ["stainless", "bronze"])
def test_armour_that_is_not_magnetic_leaves_the_positive_sequence(metal):
    wires = CABLE._replace(armour=metal)
    found, bare, steel = (cd.design_cable(each, 50.0) for each in (wires, CABLE._replace(**BARE), CABLE))
    assert (found.resistance, found.inductance) == (bare.resistance, bare.inductance)
    assert found.zero_resistance != steel.zero_resistance and cl.find_armour_loss(wires, 50.0) == 0.0


@pytest.mark.parametrize("loss", [0.0, 0.02, 0.07, 0.15])
def test_a_measured_loss_is_met(loss):
    share = cl.find_armour_share(CABLE, 50.0, loss)
    cable = CABLE._replace(armour_share=share)
    assert cl.find_armour_loss(cable, 50.0) == pytest.approx(loss, rel=EXACT)
    layout = cl.lay_out(cable)
    s = np.array([100j * np.pi])
    sections = [cl.find_section(each, layout) for each in (cable, CABLE._replace(**BARE))]
    rise = np.subtract(*(positive_impedance(s, section).real[0] for section in sections))
    # of a thin screen R_S beside the flux X outside it and the armour's: R_S Z / (R_S + Z); walls and proximity 3 %
    screen, mean = tube_resistance(sections[0].screen), layout.screen_inner + layout.screen_outer
    apart = s[0] * 2e-7 * np.log(2.0 * layout.spacing / mean)
    added = 0.0 if loss == 0.0 else ca.reaction_impedance(s[0], sections[0].reaction)
    with_armour, without = (screen * z / (screen + z) for z in (apart + added, apart))
    assert rise == pytest.approx((with_armour - without).real, rel=0.03, abs=1e-12)
    assert rise >= loss * cd.design_cable(cable, 50.0).ac_resistance_iec - 1e-12
    assert proximity_impedance(s, sections[0]) == proximity_impedance(s, sections[1])


def test_a_loss_without_steel_or_beyond_it_is_refused():
    for cable in (CABLE._replace(armour="bronze"), CABLE._replace(armour_diameter=0.0)):
        with pytest.raises(ValueError, match="only magnetic armour has a loss of its own: give armour_mm above 0"):
            cl.find_armour_share(cable, 50.0, 0.1)
        assert cl.find_armour_share(cable, 50.0, 0.0) == 0.0
    with pytest.raises(ValueError, match=r"is 30 % of that of the conductors: .* lose 20.07 % at most at 50 Hz"):
        cl.find_armour_share(CABLE, 50.0, 0.3)


def test_layers_as_measured():
    usual = cl.lay_out(CABLE)
    layers = {"inner_semiconductor": 0.8e-3, "outer_semiconductor": 0.8e-3}
    cable = CABLE._replace(conductor_diameter=2 * usual.conductor, **layers)
    assert cl.lay_out(cable) == usual
    layers = {"inner_semiconductor": 1.0e-3, "outer_semiconductor": 1.5e-3}
    found = cl.lay_out(cable._replace(conductor_diameter=18.4e-3, **layers))
    assert found.insulation_inner == pytest.approx(10.2e-3, rel=EXACT)
    assert found.screen_inner - found.insulation_outer == pytest.approx(1.5e-3 + cl.TAPE, rel=EXACT)


def test_semiconductors_add_to_the_inductance_alone():
    thin, thick = (cd.design_cable(CABLE._replace(outer_semiconductor=mm * 1e-3), 50.0) for mm in (0.8, 2.0))
    assert thick.capacitance == thin.capacitance                   # equipotential with the screen, IEC 60287-1-1
    # 2e-7 ln of screen over conductor, and the cores lie further apart by as much
    assert thick.inductance > thin.inductance


def test_mistakes_of_the_new_layers():
    wrong = CABLE._replace(conductor_diameter=12e-3, inner_semiconductor=-1e-3, armour="iron")
    with pytest.raises(ValueError) as told:
        cl.lay_out(wrong)
    for part in ("diameter of the conductor is 12 mm: too thin for 240 mm2, which as solid metal is 17.48 mm wide",
                 "semiconducting layers must not be negative",
                 "armour is 'iron': it must be steel, stainless or bronze"):
        assert part in str(told.value)
