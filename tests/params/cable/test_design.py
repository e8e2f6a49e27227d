"""From construction to constants: layers, temperature, sequences, adjustment, mistakes."""

import numpy as np
import pytest

from sim.params.cable import design as cd
from sim.params.cable.foster import FosterFit, foster_impedance
from sim.params.cable.impedance import positive_impedance, zero_impedance
from sim.params.cable.layers import Construction

CABLE = Construction(240e-6, "copper", 8e-3, screen_area=25e-6)                    # 36 kV, 240 mm2
LEAD = Construction(630e-6, "copper", 8e-3, screen_area=0.0, sheath_thickness=2.3e-3, armour_diameter=6e-3)
SMALL = Construction(16e-6, "aluminium", 3.4e-3)                                    # 12 kV, 16 mm2
LARGE = Construction(1000e-6, "aluminium", 17e-3, screen_area=95e-6, temperature=20.0)
VARIETY = {"36 kV": CABLE, "lead": LEAD, "small": SMALL, "large": LARGE,
           "no armour": CABLE._replace(armour_diameter=0.0), "dry": CABLE._replace(in_water=False),
           "bronze": CABLE._replace(armour="bronze"), "measured": CABLE._replace(conductor_diameter=18.4e-3,
                                                                                 inner_semiconductor=1.1e-3),
           "apart": CABLE._replace(spacing=0.1), "both": LEAD._replace(screen_area=16e-6)}
EACH = pytest.mark.parametrize("cable", VARIETY.values(), ids=VARIETY.keys())
FINE = np.geomspace(0.1, 20e3, 801)
EXACT = 1e-12               # the same algebra in another order


@EACH
def test_layers_go_outwards(cable):
    layout = cd.lay_out(cable)
    radii = [layout.conductor, layout.insulation_inner, layout.insulation_outer, layout.screen_inner,
             layout.screen_outer, layout.core]
    assert np.all(np.diff(radii) > 0.0)
    assert layout.insulation_outer - layout.insulation_inner == pytest.approx(cable.insulation_thickness, rel=EXACT)
    assert layout.outer > layout.spacing / 3**0.5 + layout.core and layout.spacing >= 2.0 * layout.core * (1 - EXACT)


def test_touching_cores_are_one_diameter_apart():
    layout = cd.lay_out(CABLE)
    assert layout.spacing == pytest.approx(2.0 * layout.core, rel=EXACT)


def test_diameter_of_a_36_kv_240_mm2_core():
    # over a core's jacket 40 to 46 mm (common practice); the inductance of 0.36 mH/km asks for 43.6
    assert 40e-3 < 2.0 * cd.lay_out(CABLE).core < 46e-3


@EACH
def test_fits_follow_the_impedance_over_the_band(cable):
    found, section = cd.design_cable(cable, 50.0), cd.find_section(cable, cd.lay_out(cable))
    s = 2j * np.pi * FINE
    for fit, impedance, error in ((found.positive, positive_impedance, cd.POSITIVE_ERROR),
                                  (found.zero, zero_impedance, cd.ZERO_ERROR)):
        assert fit.error <= error and len(fit.branch_resistance) <= 5
        # between the fitted points a tenth more
        assert np.abs(foster_impedance(fit, s) / impedance(s, section) - 1.0).max() <= 1.1 * error


@EACH
def test_damping_resistance_follows_too(cable):
    found, section = cd.design_cable(cable, 50.0), cd.find_section(cable, cd.lay_out(cable))
    s = 2j * np.pi * FINE[FINE <= 5e3]
    ratio = foster_impedance(found.positive, s).real / positive_impedance(s, section).real
    # 0.5 % of |Z| where resistance is a sixth of it at 5 kHz
    assert np.abs(ratio - 1.0).max() < 0.03


@EACH
def test_constants_are_those_of_the_fits_at_the_frequency(cable):
    found = cd.design_cable(cable, 60.0)
    assert (found.resistance, found.inductance) == cd.read_fit(found.positive, 60.0)
    assert (found.zero_resistance, found.zero_inductance) == cd.read_fit(found.zero, 60.0)
    assert found.zero_capacitance == found.capacitance
    assert found.surge_impedance * found.velocity == pytest.approx(1.0 / found.capacitance, rel=EXACT)
    assert found.front_velocity > found.velocity and found.front_surge_impedance < found.surge_impedance


@EACH
def test_resistances_are_in_order(cable):
    found = cd.design_cable(cable, 50.0)
    assert found.dc_resistance < found.ac_resistance_iec
    # conductor alone by IEC 60287 stays below conductor and screens, to the fit's error and the standard's 0.6 %
    assert found.ac_resistance_iec < 1.01 * found.resistance
    assert found.resistance < found.zero_resistance


@pytest.mark.parametrize("mm2, cold", [(95, 0.193), (240, 0.0754), (630, 0.0283)])     # IEC 60228, ohm/km
def test_dc_resistance_is_exact(mm2, cold):
    cable = CABLE._replace(conductor_area=mm2 * 1e-6, temperature=20.0)
    found = cd.design_cable(cable, 50.0)
    assert found.dc_resistance * 1e3 == pytest.approx(cold, rel=EXACT)
    assert found.positive.resistance == found.dc_resistance
    hot = cd.design_cable(cable._replace(temperature=90.0), 50.0)
    assert hot.dc_resistance * 1e3 == pytest.approx(cold * (1.0 + 70 * 3.93e-3), rel=EXACT)      # IEC 60287 table 1


def test_conductance_from_the_loss_tangent():
    found = cd.design_cable(CABLE, 50.0)
    # w C tan d, IEC 60287-1-1 clause 2.2
    assert found.conductance == pytest.approx(2.0 * np.pi * 50.0 * found.capacitance * 0.004, rel=EXACT)


def test_water_carries_the_return_at_low_frequency():
    wet, dry = (cd.design_cable(CABLE._replace(in_water=water), 50.0) for water in (True, False))
    # an unbounded medium has no resistance at frequency 0; at 50 Hz the armour is as good as the water
    assert wet.zero.resistance == pytest.approx(wet.dc_resistance, rel=EXACT)
    assert wet.dc_resistance < dry.zero.resistance
    assert cd.read_fit(wet.zero, 1.0)[0] < 0.9 * cd.read_fit(dry.zero, 1.0)[0]
    assert wet.resistance == dry.resistance                                 # balanced currents never reach the water


def test_usual_zero_sequence():
    found = cd.design_cable(CABLE, 50.0)
    # screened three-core cables: R0 3 to 8 times R1, C0 equal to C1 (common practice); L0 between a third of and
    # four times L1, as the screens carry the return (common practice)
    assert 3.0 < found.zero_resistance / found.resistance < 8.0
    assert 0.3 < found.zero_inductance / found.inductance < 4.0


def test_spacing_raises_inductance_and_leaves_capacitance():
    near, apart = (cd.design_cable(CABLE._replace(armour_share=0.0, spacing=spacing), 50.0) for spacing in (None, 0.1))
    # 0.2 ln(S2/S1) mH/km without screens; the screens' currents take (wM/Rs)^2 = 3 % of the external part off
    gain = 2e-7 * np.log(0.1 / near.layout.spacing)
    assert apart.inductance - near.inductance == pytest.approx(gain, rel=0.05)
    assert apart.capacitance == near.capacitance


def test_result_is_kept():
    assert cd.design_cable(CABLE, 50.0) is cd.design_cable(Construction(*CABLE), 50.0)


FIT = FosterFit(1e-4, 2e-7, (3e-5, 4e-4), (8e-8, 5e-8), 0.004)


def test_adjusted_fit_gives_the_stated_values():
    found = cd.adjust(FIT, 50.0, 1.3e-4, 4.1e-7)
    assert cd.read_fit(found, 50.0) == pytest.approx((1.3e-4, 4.1e-7), rel=EXACT)
    assert found.branch_resistance == FIT.branch_resistance and found.branch_inductance == FIT.branch_inductance


def test_adjustment_of_one_leaves_the_other():
    resistance, inductance = cd.read_fit(FIT, 50.0)
    assert cd.read_fit(cd.adjust(FIT, 50.0, resistance=2e-4), 50.0) == pytest.approx((2e-4, inductance), rel=EXACT)
    assert cd.read_fit(cd.adjust(FIT, 50.0, inductance=4e-7), 50.0) == pytest.approx((resistance, 4e-7), rel=EXACT)
    assert cd.adjust(FIT, 50.0) == FIT


def test_impossible_adjustment_tells_both_reasons():
    with pytest.raises(ValueError, match="resistance of 0.005 ohm/km at 50 Hz is below the .* that skin effect.*; "
                                         "inductance of 0.02 mH/km at 50 Hz is below"):
        cd.adjust(FIT, 50.0, 5e-6, 2e-8)


def test_mistakes_are_told_together():
    wrong = Construction(0.0, "silver", -1e-3, permittivity=0.5, screen_area=0.0)
    with pytest.raises(ValueError) as told:
        cd.design_cable(wrong, 50.0)
    for part in ("cross-section of the conductor is 0 mm2", "insulation is -1 mm", "'silver'", "permittivity is 0.5",
                 "neither screen nor sheath"):
        assert part in str(told.value)


def test_cores_cannot_overlap():
    with pytest.raises(ValueError, match="spacing of the cores is 20 mm: their screens alone are 39.03 mm wide"):
        cd.lay_out(CABLE._replace(spacing=20e-3))


def test_negative_layer_is_refused():
    with pytest.raises(ValueError, match="must not be negative"):
        cd.lay_out(CABLE._replace(armour_diameter=-1e-3))
