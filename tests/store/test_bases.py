"""One per unit of every signal, from ratings; expected values by the definitions of three-phase systems."""

from types import SimpleNamespace

import numpy as np
from factories import CASE_TEXT, make_case

from sim.store.bases import find_bases


def test_bases_of_the_case():
    case = make_case()
    bases, motor = find_bases(case), case.machines[0].motor
    assert bases["motor_bus", "voltage"] == 6600.0
    np.testing.assert_allclose(bases["motor_bus", "voltage_b"], 6600.0 * np.sqrt(2.0 / 3.0), rtol=1e-15)
    assert bases["booster", "torque"] == bases["booster", "load_torque"] == motor.rated_torque_nm
    assert bases["booster", "speed"] == motor.rated_speed_rad_per_s
    crest = bases["booster", "current_c"] / bases["booster", "current"]
    np.testing.assert_allclose(crest, np.sqrt(2.0), rtol=1e-15)     # exact algebra, one rounding each
    assert bases["umbilical", "current_to"] == 300.0


def test_a_cable_without_ampacity_has_no_base():
    case = make_case(text=CASE_TEXT.replace("ampacity_a = 300\n", ""))
    assert np.isnan(find_bases(case)["umbilical", "current_from"])


def test_rated_current_of_a_drive_is_s_over_root_three_u():
    drive = SimpleNamespace(name="drive", frequency_hz=50.0, rated_v=3300.0, rated_va=3.3e6)
    empty = SimpleNamespace(nodes=[], machines=[], drives=[drive], cables=[], transformers=[])
    bases = find_bases(empty)
    np.testing.assert_allclose(bases["drive", "current"], 1000.0 / np.sqrt(3.0), rtol=1e-15)
    assert bases["drive", "frequency"] == 50.0 and bases["drive", "emf"] == 3300.0


def test_flux_is_per_unit_already():
    case = SimpleNamespace(nodes=[], machines=[], drives=[], cables=[],
                           transformers=[SimpleNamespace(name="step_up")])
    assert find_bases(case) == {("step_up", f"flux_{side}{limb}"): 1.0 for side in ("from", "to")
                                for limb in ("", "_a", "_b", "_c")}


def test_a_neutral_is_displaced_by_the_crest_of_a_phase_at_most_one():
    """An earthed phase of an unearthed network displaces its neutral by the phase voltage: 1 pu."""
    np.testing.assert_allclose(find_bases(make_case())["motor_bus", "voltage_zero"], 6600.0 * np.sqrt(2.0 / 3.0),
                               rtol=1e-15)


def test_rated_current_of_a_reactor_is_q_over_root_three_u():
    reactor = SimpleNamespace(name="coil", rated_var=10e6, rated_v=33e3)
    empty = SimpleNamespace(nodes=[], machines=[], drives=[], cables=[], transformers=[], reactors=[reactor])
    bases = find_bases(empty)
    np.testing.assert_allclose(bases["coil", "current"], 10e6 / (np.sqrt(3.0) * 33e3), rtol=1e-15)
    np.testing.assert_allclose(bases["coil", "current_b"] / bases["coil", "current"], np.sqrt(2.0), rtol=1e-15)
