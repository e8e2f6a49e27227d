"""Conversion to SI, checked against SciPy's table of exact definitions (CODATA/SI) and unit arithmetic.

Foot, inch, mile, pound and standard gravity are exact by definition (international yard and pound agreement of 1959);
SciPy derives horsepower and pound-force from them.
"""

import copy
import pickle

import pytest
from scipy import constants

from sim.units import SUFFIXES, Record, change_unit, convert, find_symbol, list_suffixes, rename_key, split_key, to_si

POUND_FOOT_SQUARED = constants.pound * constants.foot**2
THOUSAND_CIRCULAR_MILS = constants.kilo * constants.pi / 4.0 * (constants.inch * constants.milli)**2
LENGTHS = {"m": 1.0, "km": constants.kilo, "nmi": constants.nautical_mile, "mi": constants.mile,
           "ft": constants.foot, "kft": constants.kilo * constants.foot}
PREFIXES = {"": 1.0, "m": constants.milli, "u": constants.micro, "n": constants.nano, "p": constants.pico}
PER_LENGTH = {"ohm": ["", "m", "u"], "h": ["", "m", "u", "n"], "f": ["", "u", "n", "p"], "s": ["", "u", "n"]}

# key -> (SI key, what one unit is in SI); prefixes and units from scipy.constants
KNOWN = {
    **{f"x_{prefix}{unit}_per_{length}": (f"x_{unit}_per_m", PREFIXES[prefix] / metres)
       for unit, prefixes in PER_LENGTH.items() for prefix in prefixes for length, metres in LENGTHS.items()},
    **{f"length_{name}": ("length_m", metres) for name, metres in LENGTHS.items()},
    "diameter_mm": ("diameter_m", constants.milli),
    "diameter_in": ("diameter_m", constants.inch),
    "conductor_m2": ("conductor_m2", 1.0),
    "conductor_mm2": ("conductor_m2", constants.milli**2),
    "conductor_kcmil": ("conductor_m2", THOUSAND_CIRCULAR_MILS),
    "rated_v": ("rated_v", 1.0),
    "rated_w": ("rated_w", 1.0),
    "rated_hp": ("rated_w", constants.hp),
    "rated_va": ("rated_va", 1.0),
    "rated_var": ("rated_var", 1.0),
    "rated_kvar": ("rated_var", constants.kilo),
    "current_ka": ("current_a", constants.kilo),
    "current_ma": ("current_a", constants.milli),
    "rise_v_per_s": ("rise_v_per_s", 1.0),
    "rise_kv_per_ms": ("rise_v_per_s", constants.kilo / constants.milli),
    "rise_kv_per_us": ("rise_v_per_s", constants.kilo / constants.micro),
    "slope_a_per_s": ("slope_a_per_s", 1.0),
    "slope_a_per_ms": ("slope_a_per_s", 1.0 / constants.milli),
    "slope_a_per_us": ("slope_a_per_s", 1.0 / constants.micro),
    "energy_j": ("energy_j", 1.0),
    "energy_kj": ("energy_j", constants.kilo),
    "energy_j_per_v": ("energy_j_per_v", 1.0),
    "energy_kj_per_kv": ("energy_j_per_v", constants.kilo / constants.kilo),
    "ramp_hz_per_min": ("ramp_hz_per_s", 1.0 / constants.minute),
    "inductance_h": ("inductance_h", 1.0),
    "inductance_uh": ("inductance_h", constants.micro),
    "capacitance_f": ("capacitance_f", 1.0),
    "stray_pf": ("stray_f", constants.pico),
    "resistance_kohm": ("resistance_ohm", constants.kilo),
    "resistance_mohm": ("resistance_ohm", constants.milli),
    "phase_rad": ("phase_rad", 1.0),
    "temperature_degc": ("temperature_degc", 1.0),
    "inertia_gd2_kgm2": ("inertia_kgm2", 0.25),     # with the diameter of gyration D = 2 k, G D^2 = 4 m k^2
    "inertia_lbft2": ("inertia_kgm2", POUND_FOOT_SQUARED),
    "inertia_wk2_lbft2": ("inertia_kgm2", POUND_FOOT_SQUARED),
    "torque_knm": ("torque_nm", constants.kilo),
    "torque_lbft": ("torque_nm", constants.lbf * constants.foot),
    "stiffness_nm_per_rad": ("stiffness_nm_per_rad", 1.0),
    "stiffness_knm_per_rad": ("stiffness_nm_per_rad", constants.kilo),
    "damping_nms_per_rad": ("damping_nms_per_rad", 1.0),
    "damping_knms_per_rad": ("damping_nms_per_rad", constants.kilo),
    "overvoltage_max_pu_of_withstand": ("overvoltage_max_pu_of_withstand", 1.0),
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
    # up to four roundings on either side: products of definitions, 2^-53 each
    assert to_si(key, 3.0) == pytest.approx(3.0 * factor, rel=1e-15, abs=0.0)


@pytest.mark.parametrize("key, value, si", [
    ("load_pct", 70.0, 0.7), ("length_km", 28.0, 28000.0), ("winding_nf", 2.0, 2e-9)])
def test_whole_numbers_are_rounded_once(key, value, si):
    assert to_si(key, value) == si      # exact operands and one division or product: the nearest float


def test_gd2_alone_is_no_unit():
    assert split_key("inertia_gd2") == ("inertia_gd2", None)


# NIST SP 811 (2008), appendix B.8, as printed there (from memory, to be checked)
@pytest.mark.parametrize("key, printed", [
    ("rated_hp", 745.6999), ("inertia_lbft2", 4.214011e-2), ("torque_lbft", 1.355818),
    ("conductor_kcmil", 5.067075e-7), ("diameter_in", 2.54e-2), ("length_nmi", 1852.0), ("length_mi", 1609.344)])
def test_unit_against_the_printed_table(key, printed):
    assert to_si(key, 1.0) == pytest.approx(printed, rel=5e-7, abs=0.0)      # half a unit of the seventh digit


@pytest.mark.parametrize("value, given, wanted, found", [
    (2300000.0, "rated_w", "rated_kw", 2300.0), (2.3, "rated_mw", "rated_kw", 2300.0),
    (28000, "length_m", "length_km", 28.0),
    (180.0, "c_nf_per_km", "c_uf_per_km", 0.18), (95.0, "efficiency_pct", "efficiency_pu", 0.95),
    (360.0, "inertia_gd2_kgm2", "inertia_kgm2", 90.0), ([0.0, 0.5], "speed_pu", "speed_pct", [0.0, 50.0]),
    (True, "a_m", "a_km", True), ("x", "a_m", "a_km", "x"), (10**400, "a_m", "a_km", 10**400)])
def test_change_of_unit(value, given, wanted, found):
    assert change_unit(value, given, wanted) == found       # powers of ten and two operands: the nearest float


def test_units_of_a_kind():
    assert list_suffixes("w") == ["w", "kw", "mw", "hp"] and list_suffixes("rad_per_s") == ["rpm", "rad_per_s"]
    assert {SUFFIXES[suffix].si_symbol for suffix in list_suffixes("f_per_m")} == {"F/m"}


@pytest.mark.parametrize("key", ["name", "poles", "x_over_r", "x0_over_x1", "vector_group", "closed", "a",
                                 "breakaway_ratio_min"])
def test_keys_without_unit_pass(key):
    assert rename_key(key) == key and to_si(key, 4) == 4 and find_symbol(key) == ""


def test_longest_suffix_wins():
    assert find_symbol("r_ohm_per_km") == "ohm/km"
    assert find_symbol("recovery_rise_kv_per_ms") == "kV/ms" and find_symbol("quench_a_per_us") == "A/us"
    assert find_symbol("ramp_hz_per_s") == "Hz/s" and find_symbol("inertia_gd2_kgm2") == "kg m2 of GD2"


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
