"""Usual ranges of what feeds and carries: cables, sources, drives, transformers, shunts; and of limits.

Ranges are wide: they are to catch a unit, not to judge a design.  Reasons without a standard are common practice.
Keys that begin with @ are said by the surroundings: nominal voltage and frequency of the node, power of the motors.
"""

from functools import partial
from math import pi, sqrt

from sim.case.suspect.traces import Row, Slip, Values
from sim.components.branches.cable import find_speed
from sim.params.cable.conductors import dc_resistance, heat

PER_LENGTH = ("per_km", "per_m")
STIFF_MVA = (1e5, 1e6)  # round numbers that are given for a stiff grid [MVA]
MOST_KA = 80.0          # largest short-circuit current of switchgear, IEC 62271 up to 63 kA [kA]


def list_units(*numerators: str) -> tuple[str, ...]:
    """Suffixes per length that constants of a cable are often given in."""
    return tuple(f"{numerator}_{length}" for numerator in numerators for length in PER_LENGTH)


OHM, HENRY, FARAD = list_units("ohm", "mohm"), list_units("mh", "uh", "h"), list_units("uf", "nf", "f")


def own(what: str, key: str, low: float, high: float, reason: str, units: tuple[str, ...] = (),
        *slips: Slip) -> Row:
    """Row of a key by itself."""
    unit = {"pct": "%", "mm": "mm"}.get(key.rpartition("_")[2], "")
    return Row(what, unit, low, high, reason, (key,), lambda v: v[key], {key: units} if units else {}, slips)


def frequency_row(key: str) -> Row:
    """Row of a rated frequency."""
    return own("frequency", key, 10.0, 250.0, "16.7 to 200 Hz", (),
               Slip(key, "an angular frequency in rad/s", lambda v: v[key] / (2.0 * pi)))


def find_surge_impedance(v: Values) -> float:
    """Surge impedance of the lossless line. [ohm]"""
    return sqrt(v["inductance_mh_per_km"] * 1e3 / v["capacitance_uf_per_km"])


def find_wave_speed(v: Values) -> float:
    """Speed of waves on the lossless line. [m/us]"""
    return find_speed(v["inductance_mh_per_km"], v["capacitance_uf_per_km"]) / 1e3


def find_r_over_x(v: Values) -> float:
    """Resistance over reactance at rated frequency, positive sequence."""
    return v["resistance_ohm_per_km"] / (2e-3 * pi * v["@frequency_hz"] * v["inductance_mh_per_km"])


def find_conductor_share(v: Values) -> float:
    """Resistance given over that of the conductor's cross-section."""
    metal = v.get("conductor") or "copper"
    bare = heat(dc_resistance(v["conductor_mm2"] * 1e-6, metal), metal, v.get("temperature_degc") or 90.0)
    return v["resistance_ohm_per_km"] / (1e3 * bare)


def find_fill(v: Values) -> float:
    """Cross-section of a conductor over the circle of its diameter."""
    return v["conductor_mm2"] / (pi / 4.0 * v["conductor_diameter_mm"] ** 2)


def find_line_voltage(v: Values, key: str) -> float:
    """Voltage between lines where the one to earth was given."""
    return sqrt(3.0) * v[key]


def find_voltage_share(v: Values, key: str) -> float | None:
    """Voltage a cable is built for over that of its node; None where it is too low even for one to earth."""
    share = v[key] / v["@nominal_kv"]
    return share if share >= 0.55 else None


def ratio_row(what: str, key: str, low: float, high: float, units: tuple[str, ...], reason: str) -> Row:
    """Row of a zero-sequence constant over that of the positive sequence."""
    zero = f"zero_{key}"
    return Row(what, "", low, high, reason, (zero, key), lambda v: v[zero] / v[key], {zero: units})


LC = ("inductance_mh_per_km", "capacitance_uf_per_km")
BOTH = {LC[1]: FARAD, LC[0]: HENRY}
LINE = (
    Row("wave speed", "m/us", 60.0, 300.0, "80 to 200 m/us in solid insulation, light 300 m/us", LC, find_wave_speed,
        BOTH),
    Row("surge impedance", "ohm", 15.0, 120.0, "cables with a screen on every core", LC, find_surge_impedance, BOTH),
    own("inductance per km", LC[0], 0.1, 1.5, "three cores in one cable 0.25 to 0.6 mH/km", HENRY),
    own("capacitance per km", LC[1], 0.02, 1.5, "screened cores 0.05 to 0.6 uF/km", FARAD),
    own("resistance per km", "resistance_ohm_per_km", 0.006, 6.0, "IEC 60228, 10 to 2500 mm2, warm", OHM),
    Row("R over X", "", 0.03, 40.0, "10 to 2500 mm2", ("resistance_ohm_per_km", LC[0], "@frequency_hz"), find_r_over_x,
        {"resistance_ohm_per_km": OHM}),
    Row("resistance over that of the conductor", "", 0.6, 2.5, "IEC 60228 and IEC 60287",
        ("conductor_mm2", "resistance_ohm_per_km"), find_conductor_share,
        {"resistance_ohm_per_km": OHM, "conductor_mm2": ("kcmil",)}),
    ratio_row("zero-sequence over positive-sequence resistance", "resistance_ohm_per_km", 0.8, 60.0, OHM,
              "the return adds to the conductor"),
    ratio_row("zero-sequence over positive-sequence inductance", LC[0], 0.3, 20.0, HENRY,
              "return in screens 0.5, deep in the ground 10"),
    ratio_row("zero-sequence over positive-sequence capacitance", LC[1], 0.1, 5.0, FARAD,
              "1 with a screen on every core"),
    own("length", "length_km", 0.001, 250.0, "charging current limits AC cables", ("m", "ft")),
    Row("cross-section over the conductor's circle", "", 0.65, 1.05, "0.75 stranded, 0.9 compacted, 1 solid",
        ("conductor_diameter_mm", "conductor_mm2"), find_fill, {"conductor_mm2": ("kcmil",)},
        (Slip("conductor_diameter_mm", "a radius", lambda v: 2.0 * v["conductor_diameter_mm"]),)),
    *(own("thickness of a semiconducting layer", f"{side}_semiconductor_mm", 0.2, 3.5, "0.5 to 2 mm", ("in",))
      for side in ("inner", "outer")),
    own("loss in the armour", "armour_loss_pct", 0.3, 80.0, "2 to 50 % of the conductors'", ("pu",)),
    own("thickness of insulation", "insulation_mm", 1.5, 40.0, "IEC 60502-2 from 2.5 mm", ("in", "km")),
    *(Row("voltage over that of the node", "", 0.725, 1e9, "a cable is built for its network", (key, "@nominal_kv"),
          partial(find_voltage_share, key=key), {},
          (Slip(key, "U0, the voltage to earth", partial(find_line_voltage, key=key)),))
      for key in ("rated_kv", "voltage_class_kv")),
)


def find_fault_current(v: Values) -> float | None:
    """Three-phase short-circuit current of a grid; None for one that is meant to be stiff. [kA]"""
    return None if v["short_circuit_mva"] in STIFF_MVA else v["short_circuit_mva"] / (sqrt(3.0) * v["rated_kv"])


def find_fault_share(v: Values) -> float:
    """Short-circuit power over the largest motor fed from it."""
    return v["short_circuit_mva"] / (v["@largest_kva"] * 1e-3)


def read_current(v: Values) -> float | None:
    """Short-circuit power of a short-circuit current in kA; None for a number that is too large to be one. [MVA]"""
    current = v["short_circuit_mva"]
    return sqrt(3.0) * v["rated_kv"] * current if current <= MOST_KA else None


CURRENT_TYPED = Slip("short_circuit_mva", "a short-circuit current in kA", read_current)
POWER_UNITS = {"short_circuit_mva": ("kva", "va")}
GRID = (
    frequency_row("frequency_hz"),
    Row("short-circuit power over the largest motor", "", 3.0, 1e9, "less starts no motor",
        ("short_circuit_mva", "rated_kv", "@largest_kva"), find_fault_share, {}, (CURRENT_TYPED,), True),
    Row("short-circuit power over the largest transformer fed", "", 2.5, 1e9, "generators exceed what they feed",
        ("short_circuit_mva", "rated_kv", "@transformer_mva"), lambda v: v["short_circuit_mva"] / v["@transformer_mva"],
        {}, (CURRENT_TYPED,), True),
    Row("short-circuit current", "kA", 0.05, 5000.0, "switchgear of IEC 62271 up to 63 kA",
        ("short_circuit_mva", "rated_kv"), find_fault_current, POWER_UNITS, (CURRENT_TYPED,)),
)


def find_drive_share(v: Values) -> float:
    """Power of a drive over that of the motors it feeds."""
    return v["rated_kva"] / v["@motors_kva"]


def find_ramp_time(v: Values) -> float:
    """Time of the ramp over the whole rated frequency. [s]"""
    return v["frequency_hz"] / v["ramp_hz_per_s"]


DRIVE = (
    frequency_row("frequency_hz"),
    Row("power over that of its motors", "", 0.15, 150.0, "drives are sized to their motors",
        ("rated_kva", "@motors_kva"), find_drive_share, {"rated_kva": ("mva", "va")}, (),
        True),
    Row("rated current", "A", 1.0, 50000.0, "converters and their cables", ("rated_kva", "rated_kv"),
        lambda v: v["rated_kva"] / (sqrt(3.0) * v["rated_kv"]), {"rated_kva": ("mva", "va"), "rated_kv": ("v",)}),
    own("boost", "boost_pct", 0.2, 20.0, "1 to 10 %", ("pu",),
        Slip("boost_pct", "a voltage in V", lambda v: v["boost_pct"] / (10.0 * v["rated_kv"]))),
    Row("ramp over rated frequency", "s", 2.5, 3600.0, "1 to 5 Hz/s", ("ramp_hz_per_s", "frequency_hz"), find_ramp_time,
        {"ramp_hz_per_s": ("hz_per_min",)},
        (Slip("ramp_hz_per_s", "the time of the ramp in s", lambda v: v["frequency_hz"] / v["ramp_hz_per_s"]),)),
)


def find_rated_current(v: Values) -> float:
    """Rated current of the winding of lower voltage. [A]"""
    return 1e3 * v["rated_mva"] / (sqrt(3.0) * min(v["from_kv"], v["to_kv"]))


def loss_row(what: str, key: str, low: float, high: float, reason: str) -> Row:
    """Row of a loss of a transformer, of rated power."""
    return Row(f"{what} of rated power", "%", low, high, reason, (key, "rated_mva"),
               lambda v: 0.1 * v[key] / v["rated_mva"], {key: ("w", "mw")},
               (Slip(key, "a share of rated power in %", lambda v: 10.0 * v[key] * v["rated_mva"]),))


TRANSFORMER = (
    Row("rated current of the lower voltage", "A", 1.0, 15000.0, "bushings and busbars",
        ("rated_mva", "from_kv", "to_kv"), find_rated_current, {"rated_mva": ("kva", "va")}),
    own("short-circuit impedance", "impedance_pct", 1.5, 30.0, "IEC 60076-5: 4 to 12.5 %", ("pu",)),
    Row("tap either way", "%", 0.3, 25.0, "steps of 0.5 % and more", ("tap_pct",), lambda v: abs(v["tap_pct"]),
        {"tap_pct": ("pu",)}),
    own("no-load current", "no_load_current_pct", 0.0099, 10.0, "0.2 to 2 %", ("pu",)),
    own("no-load loss", "no_load_loss_pct", 0.008, 2.5, "0.05 to 0.25 %", ("pu",)),
    loss_row("load loss", "load_loss_kw", 0.1, 8.0, "0.3 to 2 %"),
    loss_row("no-load loss", "no_load_loss_kw", 0.008, 2.5, "0.05 to 0.25 %"),
    own("capacitance of a winding", "winding_nf", 0.02, 200.0, "1 to 6 nF", ("pf", "uf")),
)


def find_reactor_power(v: Values) -> float | None:
    """Reactive power of a shunt reactor at nominal voltage; None for a part of a string. [Mvar]"""
    if v["connection"] == "series":
        return None
    return v["@nominal_kv"] ** 2 / (2e-3 * pi * v["@frequency_hz"] * v["inductance_mh"])


def find_capacitor_power(v: Values) -> float | None:
    """Reactive power of a shunt capacitor at nominal voltage; None for a part of a string. [Mvar]"""
    if v["connection"] == "series":
        return None
    return v["@nominal_kv"] ** 2 * 2e-6 * pi * v["@frequency_hz"] * v["capacitance_uf"]


PLACE = ("@nominal_kv", "@frequency_hz", "connection")
SHUNT = (
    Row("reactive power", "Mvar", 1e-3, 400.0, "compensation of a feeder", ("inductance_mh", *PLACE),
        find_reactor_power, {"inductance_mh": ("h", "uh")}),
    Row("reactive power", "Mvar", 1e-5, 400.0, "surge capacitors to filters", ("capacitance_uf", *PLACE),
        find_capacitor_power, {"capacitance_uf": ("nf", "f", "pf")}),
)
NODE = (
    own("stray capacitance", "stray_nf", 0.01, 2000.0, "0.1 nF a bushing", ("pf", "uf")),
    Row("impulse withstand over highest voltage", "", 1.5, 20.0, "IEC 60071-1: 1.9 to 11",
        ("lightning_withstand_kv", "um_kv"), lambda v: v["lightning_withstand_kv"] / v["um_kv"],
        {"lightning_withstand_kv": ("v",)}),
)
SHARES = ("motor_voltage_min_pct", "bus_voltage_min_pct", "overvoltage_max_pct_of_withstand", "drive_current_max_pct",
          "cable_current_max_pct")
CRITERIA = tuple(own("limit", key, 3.0, 400.0, "limits near 100 %",
                     ("pu_of_withstand" if key.endswith("withstand") else "pu",)) for key in SHARES)
EVENT = (own("load", "load_pct", 3.0, 300.0, "full load is 100 %", ("pu",)),)
