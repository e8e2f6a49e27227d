"""Slips of unit and base are caught with the value that was meant; plausible cases raise no suspicion.

What was meant follows from the definition of the unit or base in each slip: GD2 = 4 J, 1 lb ft2 = 0.0421401 kg m2,
S = sqrt(3) U I, voltage between lines = sqrt(3) times voltage to earth, two poles to a pair.
"""

import re
from math import pi, sqrt
from random import Random

import pytest
from scipy import constants

from sim.case import load_case, parse_case
from sim.components import SINGLE
from sim.errors import CaseError

from .sample import MACHINE, find_mistake, find_mistakes, make, make_driven, parse, write

LB_FT2 = constants.pound * constants.foot**2


def start(path):
    """The sample in which a path exists: fed by a drive or by a grid."""
    return make_driven() if path.startswith("drive.") else make(machine=[MACHINE | {"load": {"kind": "pump"}}])


def change(data, path, value):
    """A case with one value replaced, addressed as kind.key or kind.table.key; the first of its kind is meant."""
    kind, *within, key = path.split(".")
    table = data[kind] if kind in SINGLE else data[kind][0]
    for part in within:
        table = table.setdefault(part, {})
    table[key] = value
    return data


def find_proposals(text):
    """Values a suspicion proposes, with their keys."""
    return [(key, float(value)) for key, value in re.findall(r"(\w+) = ([-\d.e+]+)", text.partition("Did you mean")[2])]


def is_proposed(text, key, meant):
    """Whether a text proposes a value for a key; proposals have four digits."""
    return any(own == key and value == pytest.approx(meant, rel=1e-3) for own, value in find_proposals(text))


def find_suspicion(data, *overrides):
    """The suspicion of a case that must have exactly one."""
    case = parse(data, *overrides)
    assert len(case.suspicions) == 1, case.suspicions
    assert case.suspicions[0] in case.warnings
    return case.suspicions[0]


RATED_A = 2.0e6 / (0.95 * 0.88 * sqrt(3.0) * 6600.0)      # of the sample's motor with these figures of merit

# (path, value typed, what it looks like, value meant)
SLIPS = [
    ("cable.inductance_mh_per_km", 4.0, "decimal point", 0.4),
    ("cable.resistance_ohm_per_km", 0.00025, "ohm/m", 0.25),
    ("cable.resistance_ohm_per_km", 25.0, "mohm/km", 0.025),
    ("cable.zero_inductance_mh_per_km", 0.0012, "H/km", 1.2),
    ("cable.zero_capacitance_uf_per_km", 0.0002, "uF/m", 0.2),
    ("cable.length_km", 280.0, "m", 0.28),
    ("cable.rated_kv", 20.8, "voltage to earth", 36.03),
    ("grid.short_circuit_mva", 8.7, "current in kA", sqrt(3.0) * 33.0 * 8.7),
    ("grid.short_circuit_mva", 500000.0, "kVA", 500.0),
    ("grid.frequency_hz", 314.16, "rad/s", 50.0),
    ("transformer.rated_mva", 1600.0, "kVA", 1.6),
    ("transformer.impedance_pct", 0.12, "pu", 12.0),
    ("transformer.tap_pct", -0.05, "pu", -5.0),
    ("transformer.no_load_current_pct", 0.005, "pu", 0.5),
    ("transformer.load_loss_kw", 0.03, "MW", 30.0),
    ("transformer.load_loss_kw", 0.6, "share of rated power in %", 30.0),
    ("transformer.no_load_loss_kw", 0.004, "MW", 4.0),
    ("shunt.inductance_mh", 0.9, "H", 900.0),
    ("event.load_pct", 0.8, "pu", 80.0),
    ("criteria.bus_voltage_min_pct", 0.85, "pu", 85.0),
    ("machine.motor.rated_kw", 2.0, "MW", 2000.0),
    ("machine.motor.locked_rotor_current_pct", 1150.0, "current in A", 100.0 * 1150.0 / RATED_A),
    ("machine.motor.circuit.rotor_resistance_pu", 1.0, "%", 0.01),
    ("machine.motor.circuit.magnetising_reactance_pu", 0.33, "decimal point", 3.3),
    ("machine.shaft.inertia_kgm2", 360.0, "GD2", 90.0),
    ("machine.shaft.inertia_kgm2", 90.0 / LB_FT2, "lb ft2", 90.0),
    ("machine.motor.inertia_kgm2", 320.0, "GD2", 80.0),
    ("machine.motor.inertia_kgm2", 80.0 / LB_FT2, "lb ft2", 80.0),
    ("machine.load.duty_kw", 1.9, "MW", 1900.0),
    ("machine.load.duty_kw", 1900e3 / constants.hp, "hp", 1900.0),
    ("machine.load.duty_rpm", 155.4, "rad/s", 155.4 * 30.0 / pi),
    ("machine.load.duty_rpm", 24.75, "turns per second", 1485.0),
    ("machine.load.breakaway_pct", 0.15, "pu", 15.0),
    ("machine.load.dip_pct", 0.08, "pu", 8.0),
    ("machine.load.dip_speed_pct", 0.15, "pu", 15.0),
    ("machine.load.load_pct", 1.0, "pu", 100.0),
    ("drive.rated_kva", 3.0, "MVA", 3000.0),
    ("drive.boost_pct", 0.0165, "pu", 1.65),
    ("drive.ramp_hz_per_s", 60.0, "Hz/min", 1.0),
    ("drive.ramp_hz_per_s", 25.0, "time of the ramp", 2.0),
    ("drive.frequency_hz", 377.0, "rad/s", 60.0),
]


@pytest.mark.parametrize("path, typed, reading, meant", SLIPS)
def test_slip_is_caught_with_what_was_meant(path, typed, reading, meant):
    data = start(path)
    if "load_pct" in path:
        data["event"].reverse()
    if "motor.locked_rotor" in path:
        data["machine"][0]["motor"] |= {"efficiency_pu": 0.95, "power_factor_pu": 0.88}
    if path == "machine.motor.rated_kw":
        data["machine"][0]["motor"]["circuit"] = {}
    if path == "machine.load.duty_kw" and typed > 1900.0:
        data["machine"][0]["motor"]["rated_kw"] = 1950.0
    text = find_suspicion(change(data, path, typed))
    key = path.rpartition(".")[2]
    assert f".{key} = " in text and reading in text.partition(":")[2].partition(":")[0]
    assert is_proposed(text, key, meant), text


def test_boost_in_volts_on_a_low_voltage_drive():
    data = make_driven()
    data["drive"][0] |= {"node": "low_bus", "rated_kv": 0.69, "boost_pct": 27.6}
    data["transformer"].append({"name": "stepup", "from": "low_bus", "to": "host_bus", "rated_mva": 4.0,
                                "from_kv": 0.69, "to_kv": 33.0})
    text = find_suspicion(data)
    assert "voltage in V" in text and find_proposals(text) == [("boost_pct", 4.0)]     # 27.6 V of 690 V


def test_pole_pairs_are_caught_by_the_duty_speed():
    data = change(make(), "machine.motor.poles", 2)
    data["machine"][0]["load"] = {"kind": "pump", "duty_rpm": 1485.0}
    data["machine"][0]["shaft"] = {"inertia_kgm2": 40.0}
    text = find_suspicion(data)
    assert "number of pole pairs" in text and text.endswith("Did you mean poles = 4?")


def test_table_in_per_unit():
    load = {"kind": "table", "speed_pct": [0.0, 0.5, 1.0], "torque_pct": [10.0, 40.0, 100.0]}
    text = find_suspicion(make(machine=[MACHINE | {"load": load}]))
    assert "looks like a value in pu" in text and "speed_pct = [0.0, 50.0, 100.0]" in text


@pytest.mark.parametrize("section, told", [
    ({"length_km": 3.0, "capacitance_uf_per_km": 2.0}, "umbilical.section[1].capacitance_uf_per_km = 2.0"),
    ({"length_km": 400.0}, "umbilical.section[1].length_km = 400.0: looks like a value in m")])
def test_sections_of_a_cable_are_examined(section, told):
    data = make()
    del data["cable"][0]["length_km"]
    data["cable"][0]["section"] = [section, {"length_km": 5.0}]
    assert find_suspicion(data).startswith(told)


@pytest.mark.parametrize("conductor, ohm_per_km, reading, key, meant", [
    (185.0, 1.27, "decimal point", "resistance_ohm_per_km", 0.127),
    (500.0, 0.12, "kcmil", "conductor_mm2", 253.4)])       # 1 kcmil = 0.50671 mm2
def test_resistance_and_cross_section_that_do_not_match(conductor, ohm_per_km, reading, key, meant):
    data = make()
    data["cable"][0] |= {"conductor_mm2": conductor, "resistance_ohm_per_km": ohm_per_km}
    told = " | ".join(find_told(data))
    assert reading in told and is_proposed(told, key, meant), told


def test_no_load_currents_in_per_unit():
    data = make()
    motor = data["machine"][0]["motor"] | {"no_load_voltage_pct": [50.0, 100.0, 120.0],
                                           "no_load_current_pct": [0.15, 0.31, 0.6]}
    motor["circuit"] = {key: value for key, value in motor["circuit"].items() if key != "magnetising_reactance_pu"}
    data["machine"][0]["motor"] = motor
    told = find_suspicion(data)
    assert "motor.no_load_current_pct" in told and "pu" in told, told


@pytest.mark.parametrize("key, value, reading, meant", [
    ("conductor_diameter_mm", 24.4, "", None),
    ("conductor_diameter_mm", 9.1, "radius", 18.2),
    ("outer_semiconductor_mm", 0.04, "in", 1.016), ("armour_loss_pct", 0.07, "pu", 7.0)])
def test_layers_in_another_unit(key, value, reading, meant):
    data = make()
    cable = {name: data["cable"][0][name] for name in ("name", "from", "to", "length_km")}
    data["cable"] = [cable | {"conductor_mm2": 240.0, "voltage_class_kv": 36.0, key: value}]
    told = " | ".join(find_told(data))
    assert key in told, told
    assert meant is None or (reading in told and is_proposed(told, key, meant)), told


def find_told(data):
    """Suspicions of a case, or its mistakes when it has some."""
    try:
        return parse(data).suspicions
    except CaseError as error:
        return error.mistakes


# waves faster than light are a mistake; it tells what was likely meant all the same
@pytest.mark.parametrize("values, meant", [
    ({"capacitance_uf_per_km": 0.0002}, ("capacitance_uf_per_km", 0.2)),
    ({"inductance_mh_per_km": 0.0004}, ("inductance_mh_per_km", 0.4)),
    ({"capacitance_uf_per_km": None, "capacitance_nf_per_km": 0.2}, ("capacitance_uf_per_km", 0.2))])
def test_mistake_tells_what_was_meant(values, meant):
    data = make()
    data["cable"][0] = {key: value for key, value in (data["cable"][0] | values).items() if value is not None}
    mistake = find_mistake(data)
    assert "faster than light" in mistake and meant in find_proposals(mistake)


def test_value_in_another_unit_is_read_as_it_was_written():
    data = make()
    del data["machine"][0]["shaft"]["inertia_kgm2"]
    data["machine"][0]["shaft"]["inertia_lbft2"] = 90.0 * 24.0
    assert parse(data).suspicions == ()
    data["machine"][0]["shaft"]["inertia_lbft2"] = 8000.0
    text = find_suspicion(data)
    assert text.startswith("booster.shaft.inertia_lbft2 = 8000.0, that is inertia_kgm2 = 337.") and "GD2" not in text
    del data["machine"][0]["shaft"]["inertia_lbft2"]
    data["machine"][0]["shaft"]["inertia_gd2_kgm2"] = 4000.0        # lb ft2 under the key of GD2
    text = find_suspicion(data)
    assert "looks like a value in lb ft2" in text and ("inertia_kgm2", 168.6) in find_proposals(text)


def test_value_no_slip_explains_is_told_all_the_same():
    data = change(make(), "cable.zero_inductance_mh_per_km", 12.0)
    assert find_suspicion(data).endswith("Check its unit and base.") or "decimal" in find_suspicion(data)


# allowed ranges refuse these at once: the mistake names the slip and what to write
REFUSED = [
    ("cable.capacitance_uf_per_km", 180.0, "If that is in nF/km, write 0.18."),
    ("cable.capacitance_uf_per_km", 2e-7, "If that is in F/km, write 0.2."),
    ("cable.inductance_mh_per_km", 400.0, "If that is in uH/km, write 0.4."),
    ("cable.ampacity_a", 0.43, "If that is in kA, write 430."),
    ("transformer.impedance_pct", 0.01, "If that is in pu, write 1."),
    ("transformer.rated_mva", 5000.0, "If that is in kVA, write 5."),
    ("transformer.x_over_r", 0.066, "If that is R over X, write 15.1515."),
    ("machine.motor.efficiency_pu", 95.0, "If that is in %, write 0.95."),
    ("machine.motor.power_factor_pu", 88.0, "If that is in %, write 0.88."),
    ("machine.motor.rated_kw", 2000000.0, "If that is in W, write 2000."),
    ("machine.motor.rated_kv", 6600.0, "If that is in V, write 6.6."),
    ("machine.motor.locked_rotor_current_pct", 5.5, "If that is in pu, write 550."),
    ("machine.motor.poles", 1, "If those are pole pairs, write 2."),
    ("machine.motor.poles", 3, "If those are pole pairs, write 6."),
    ("study.waveform_step_us", 5e-6, "If that is in s, write 5."),
    ("drive.boost_pct", 54.0, "If that is in V, write it in % of rated_kv."),
    ("drive.ramp_hz_per_s", 120.0, "If that is in Hz/min, write 2."),
    ("drive.current_limit_pct", 1.1, "If that is in pu, write 110."),
    ("drive.rated_kva", 3e6, "If that is in VA, write 3000.")]


@pytest.mark.parametrize("path, typed, advice", REFUSED)
def test_refused_value_names_the_slip(path, typed, advice):
    mistakes = find_mistakes(change(start(path), path, typed))
    key = path.rpartition(".")[2]
    assert any(f".{key} = " in mistake and advice in mistake for mistake in mistakes), mistakes


@pytest.mark.parametrize("path, typed, told", [
    ("machine.motor.rated_kv", 3.81, "booster.motor.rated_kv looks like a voltage to earth: did you mean 6.6, the "
                                     "voltage between lines?"),
    ("grid.rated_kv", 19.05, "host_grid.rated_kv looks like a voltage to earth: did you mean 33, the voltage between "
                             "lines?"),
    ("transformer.from_kv", 19.0, "subsea_transformer.from_kv looks like a voltage to earth: did you mean 33,")])
def test_voltage_to_earth_is_named(path, typed, told):
    assert told in find_mistake(change(make(), path, typed))


def test_strict_takes_suspicions_as_mistakes(tmp_path):
    path = tmp_path / "case.toml"
    path.write_text(write(change(make(), "machine.shaft.inertia_kgm2", 360.0)))
    suspicions = load_case(path).suspicions
    with pytest.raises(CaseError) as caught:
        load_case(path, strict=True)
    assert tuple(caught.value.mistakes) == suspicions
    path.write_text(write(make()))
    assert load_case(path, strict=True).suspicions == ()


def test_value_at_the_end_of_what_is_allowed_is_meant():
    data = change(make(), "cable.resistance_ohm_per_km", 1e-6)
    data["grid"][0]["short_circuit_mva"] = 1e6
    assert parse(data).suspicions == ()


def draw_case(draw):
    """A plausible network: grid or drive, two transformers, cable, motor from 5 kW to 15 MW."""
    power = 10.0 ** draw.uniform(0.7, 4.2)
    low_kv = draw.choice([0.4, 0.69]) if power < 400.0 else draw.choice([3.3, 4.16, 6.6, 11.0])
    high_kv = draw.choice([22.0, 33.0, 66.0, 132.0])
    poles = draw.choice([2, 4, 4, 6, 8]) if power > 75.0 else draw.choice([2, 4, 6])
    frequency = draw.choice([50.0, 60.0])
    efficiency, power_factor = draw.uniform(0.85, 0.97), draw.uniform(0.78, 0.93)
    kva = power / efficiency / power_factor
    surge, speed = draw.uniform(22.0, 60.0), draw.uniform(90.0, 180.0)      # ohm, km/ms
    usual = LB_FT2 * 0.02 * 2.0 ** (poles / 2) * (power / 0.7457) ** (1.35 - 0.05 * poles / 2)   # NEMA MG 1, as cited
    rpm = 120.0 * frequency / poles * draw.uniform(0.97, 0.995)
    kind = draw.choice(["pump", "pump", "compressor"])
    base_motor = {"stator_resistance_pu": draw.uniform(0.004, 0.04), "stator_reactance_pu": draw.uniform(0.06, 0.14),
                  "magnetising_reactance_pu": draw.uniform(1.8, 5.0), "rotor_resistance_pu": draw.uniform(0.006, 0.03),
                  "rotor_reactance_pu": draw.uniform(0.07, 0.2)}
    data = make(event=None, shunt=None, breaker=None, node=None, criteria=None)
    data["grid"] = [{"name": "g", "node": "host", "rated_kv": low_kv, "frequency_hz": frequency,
                     "short_circuit_mva": kva / 1e3 * draw.uniform(10.0, 300.0)}]
    if draw.random() < 0.5:
        del data["grid"]
        data["drive"] = [{"name": "d", "node": "host", "rated_kv": low_kv, "frequency_hz": frequency,
                          "rated_kva": kva * draw.uniform(0.9, 3.0), "boost_pct": draw.uniform(0.5, 8.0),
                          "ramp_hz_per_s": draw.uniform(0.5, 6.0)}]
    rating = kva / 1e3 * draw.uniform(1.1, 3.0)
    data["transformer"] = [
        {"name": "up", "from": "host", "to": "near", "rated_mva": rating, "from_kv": low_kv, "to_kv": high_kv,
         "impedance_pct": draw.uniform(4.0, 12.0), "tap_pct": draw.choice([-5.0, -2.5, 0.0, 1.25, 5.0]),
         "load_loss_kw": 10.0 * rating * draw.uniform(0.3, 2.0)},
        {"name": "down", "from": "far", "to": "motor_bus", "rated_mva": rating, "from_kv": high_kv, "to_kv": low_kv,
         "impedance_pct": draw.uniform(4.0, 12.0), "no_load_current_pct": draw.uniform(0.15, 2.0)}]
    data["cable"] = [{"name": "c", "from": "near", "to": "far", "length_km": 10.0 ** draw.uniform(-0.5, 2.2),
                      "resistance_ohm_per_km": 10.0 ** draw.uniform(-1.6, 0.2),
                      "inductance_mh_per_km": surge / speed, "capacitance_uf_per_km": 1e3 / (surge * speed),
                      "rated_kv": high_kv * draw.uniform(1.0, 1.2)}]
    data["machine"] = [{
        "name": "m", "node": "motor_bus",
        "motor": {"rated_kw": power, "rated_kv": low_kv, "poles": poles, "frequency_hz": frequency,
                  "efficiency_pu": efficiency, "power_factor_pu": power_factor, "circuit": base_motor},
        "shaft": {"inertia_kgm2": usual * draw.uniform(0.7, 3.0)},
        "load": {"kind": kind, "duty_kw": power * draw.uniform(0.5, 1.0), "duty_rpm": rpm,
                 "breakaway_pct": draw.uniform(3.0, 60.0)}}]
    return data


@pytest.mark.parametrize("seed", range(60))
def test_no_false_alarm_over_plausible_cases(seed):
    data = draw_case(Random(seed))
    assert parse_case(write(data)).suspicions == ()
