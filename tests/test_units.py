"""Conversion to SI, checked against SciPy's table of exact definitions (CODATA/SI) and unit arithmetic."""

import copy
import pickle

import pytest
from scipy import constants

from sim.units import SUFFIXES, Record, convert, find_symbol, rename_key, split_key, to_si

# key -> (SI key, what one unit is in SI); prefixes and units from scipy.constants
KNOWN = {
    "length_km": ("length_m", constants.kilo),
    "rated_kv": ("rated_v", constants.kilo),
    "rated_kw": ("rated_w", constants.kilo),
    "rated_mw": ("rated_w", constants.mega),
    "rated_kva": ("rated_va", constants.kilo),
    "rated_mva": ("rated_va", constants.mega),
    "rated_mvar": ("rated_var", constants.mega),
    "boost_pct": ("boost_pu", constants.centi),
    "voltage_pu": ("voltage_pu", 1.0),
    "hold_s": ("hold_s", 1.0),
    "filter_ms": ("filter_s", constants.milli),
    "step_us": ("step_s", constants.micro),
    "start_hz": ("start_hz", 1.0),
    "bandwidth_khz": ("bandwidth_hz", constants.kilo),
    "ramp_hz_per_s": ("ramp_hz_per_s", 1.0),
    "inductance_mh": ("inductance_h", constants.milli),
    "capacitance_uf": ("capacitance_f", constants.micro),
    "stray_nf": ("stray_f", constants.nano),
    "resistance_ohm": ("resistance_ohm", 1.0),
    "contact_uohm": ("contact_ohm", constants.micro),
    "ampacity_a": ("ampacity_a", 1.0),
    "r_ohm_per_km": ("r_ohm_per_m", 1.0 / constants.kilo),
    "l_mh_per_km": ("l_h_per_m", constants.milli / constants.kilo),
    "c_uf_per_km": ("c_f_per_m", constants.micro / constants.kilo),
    "c_nf_per_km": ("c_f_per_m", constants.nano / constants.kilo),
    "g_us_per_km": ("g_s_per_m", constants.micro / constants.kilo),
    "rated_rpm": ("rated_rad_per_s", 2.0 * constants.pi / constants.minute),
    "w_rad_per_s": ("w_rad_per_s", 1.0),
    "phase_deg": ("phase_rad", constants.degree),
    "inertia_kgm2": ("inertia_kgm2", 1.0),
    "torque_nm": ("torque_nm", 1.0),
    "overvoltage_max_pct_of_withstand": ("overvoltage_max_pu_of_withstand", constants.centi),
}


def test_every_suffix_is_checked():
    assert {split_key(key)[1] for key in KNOWN} == set(SUFFIXES.values())


@pytest.mark.parametrize("key", KNOWN)
def test_unit_against_its_definition(key):
    name, factor = KNOWN[key]
    assert rename_key(key) == name
    assert to_si(key, 3.0) == pytest.approx(3.0 * factor, rel=1e-15)    # one rounding of a product


@pytest.mark.parametrize("key, value, si", [
    ("load_pct", 70.0, 0.7), ("length_km", 28.0, 28000.0), ("winding_nf", 2.0, 2e-9)])
def test_whole_numbers_are_rounded_once(key, value, si):
    assert to_si(key, value) == si      # exact operands and one division or product: the nearest float


def test_gd2_is_no_unit_of_the_file():
    assert split_key("inertia_gd2") == ("inertia_gd2", None)


@pytest.mark.parametrize("key", ["name", "poles", "x_over_r", "x0_over_x1", "vector_group", "closed", "a"])
def test_keys_without_unit_pass(key):
    assert rename_key(key) == key and to_si(key, 4) == 4 and find_symbol(key) == ""


def test_longest_suffix_wins():
    assert find_symbol("r_ohm_per_km") == "ohm/km"
    assert find_symbol("ramp_hz_per_s") == "Hz/s"


def test_convert_walks_into_tables_and_lists_and_leaves_the_rest():
    record = convert({"name": "pump", "length_km": None, "speed_pct": [0.0, 100.0], "closed": True,
                      "inner": {"rated_kv": 6.6}})
    assert record == Record(name="pump", length_m=None, speed_pu=[0.0, 1.0], closed=True,
                            inner=Record(rated_v=6600.0))


def test_record_is_fixed():
    record = Record(length_m=1.0)
    with pytest.raises(AttributeError, match="fixed"):
        record.length_m = 2.0
    with pytest.raises(AttributeError, match="fixed"):
        del record.length_m
    assert record.length_m == 1.0


def test_record_survives_copy_and_pickle():
    record = Record(length_m=1.0, inner=Record(name="a"))
    assert copy.deepcopy(record) == record == pickle.loads(pickle.dumps(record))
    assert record != Record(length_m=2.0) and repr(Record(a=1)) == "Record(a=1)"
