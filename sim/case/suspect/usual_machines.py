"""Usual ranges of machines: nameplate, equivalent circuit, inertia and driven machine.

Keys are those of [[machine]], with those of the tables within behind a dot; @kind, @poles and @product are said by the
machine itself: kind of driven machine, number of poles, efficiency times power factor.
"""

from functools import partial
from math import pi, sqrt

from sim.case.suspect.traces import Row, Slip, Values
from sim.case.suspect.usual_feeders import frequency_row, own
from sim.params.inertia import kinetic_constant, natural_frequency
from sim.params.motor.estimates import estimate_motor_inertia

INDUSTRIAL_W = 75e3             # the formula for rotors holds from here [W]
SMALL_SPREAD = 4.0              # rotors of smaller motors lie up to this much above the formula (textbook machines)
KW, SHAFT, ROTOR = "motor.rated_kw", "shaft.inertia_kgm2", "motor.inertia_kgm2"
DRIVEN = "load.inertia_kgm2"
HEAVY = 4.0                     # compressors, fans and flywheels against a pump


def find_input(v: Values) -> float:
    """Rated apparent power. [kVA]"""
    return v[KW] / v["@product"]


def find_current(v: Values) -> float:
    """Rated current. [A]"""
    return find_input(v) / (sqrt(3.0) * v["motor.rated_kv"])


def find_base(v: Values) -> float:
    """Base impedance of the equivalent circuit. [ohm]"""
    return 1e3 * v["motor.rated_kv"] ** 2 / find_input(v)


def find_least_current(v: Values) -> float:
    """Rated current over the least a motor of that voltage is built for: 2 A from 2 kV on, 0.1 A below."""
    return find_current(v) / (2.0 if v["motor.rated_kv"] >= 2.0 else 0.1)


def find_duty_share(v: Values) -> float:
    """Duty power over rated power."""
    return v["load.duty_kw"] / v[KW]


def find_speed_share(v: Values) -> float:
    """Duty speed over synchronous speed."""
    return v["load.duty_rpm"] * v["@poles"] / (120.0 * v["motor.frequency_hz"])


def find_pair_share(v: Values) -> float | None:
    """Duty speed over synchronous speed on the supply, where it is that speed or just under half of it; else None."""
    share = v["load.duty_rpm"] * v["motor.poles"] / (120.0 * v["@final_hz"])
    return share if 0.46 <= share < 0.5 or 0.93 <= share <= 1.0 else None


def find_rotor_share(v: Values, key: str) -> float:
    """Inertia over that of the usual rotor, brought to what an industrial motor driving a pump has."""
    usual = estimate_motor_inertia(v[KW] * 1e3, v["@poles"]).value
    spread = SMALL_SPREAD if v[KW] * 1e3 < INDUSTRIAL_W else 1.0
    return v[key] / (usual * spread)


def find_train_share(v: Values, key: str) -> float:
    """As `find_rotor_share`, where other driven machines than pumps may be heavier."""
    return find_rotor_share(v, key) / (1.0 if v["@kind"] == "pump" else HEAVY)


def find_inertia_constant(v: Values, *keys: str) -> float:
    """Kinetic energy at synchronous speed over rated apparent power. [s]"""
    speed = 4.0 * pi * v["motor.frequency_hz"] / v["@poles"]
    return kinetic_constant(sum(v[key] for key in keys), speed, 1e3 * find_input(v))


INERTIA_UNITS = ("gd2_kgm2", "lbft2")
BASIS = ("@poles", KW, "@kind")
TURNING = ("motor.frequency_hz", "@poles", KW)
FORMULA = "formula of NEMA MG 1, quoted second-hand"
INERTIAS = (
    Row("inertia over that of the usual rotor", "", 0.02, 3.5, f"{FORMULA}; a pump adds as much again at most",
        (SHAFT, *BASIS), lambda v: find_train_share(v, SHAFT), {SHAFT: INERTIA_UNITS}),
    Row("inertia over that of the usual rotor", "", 0.02, 3.0, FORMULA, (ROTOR, *BASIS),
        lambda v: find_rotor_share(v, ROTOR), {ROTOR: INERTIA_UNITS}),
    Row("inertia over that of the usual rotor", "", 0.001, 3.0, f"{FORMULA}; a pump is lighter than its motor",
        (DRIVEN, *BASIS), lambda v: find_train_share(v, DRIVEN), {DRIVEN: INERTIA_UNITS}),
    Row("inertia constant", "s", 0.02, 10.0, "0.2 to 2 s with a pump, 10 s with a compressor, 0.03 s in a well",
        (SHAFT, *TURNING), lambda v: find_inertia_constant(v, SHAFT), {SHAFT: INERTIA_UNITS}),
    Row("inertia constant", "s", 0.02, 10.0, "0.2 to 2 s with a pump, 10 s with a compressor, 0.03 s in a well",
        (ROTOR, DRIVEN, *TURNING), lambda v: find_inertia_constant(v, ROTOR, DRIVEN)),
)


def find_twist_frequency(v: Values) -> float:
    """Natural frequency of motor against driven machine. [Hz]"""
    return natural_frequency(1e3 * v["shaft.stiffness_knm_per_rad"], v[ROTOR], v[DRIVEN])


NAMEPLATE = (
    frequency_row("motor.frequency_hz"),
    Row("rated current over the least of its voltage class", "", 1.0, 1e9, "2 A from 2 kV on", (KW, "motor.rated_kv"),
        find_least_current, {KW: ("mw", "w")}),
    Row("rated current", "A", 0.1, 8000.0, "terminals of one winding", (KW, "motor.rated_kv"), find_current,
        {KW: ("w", "mw")}),
    Row("duty power over rated power", "", 0.05, 1.25, "the motor covers its duty", ("load.duty_kw", KW),
        find_duty_share, {"load.duty_kw": ("mw", "hp", "w"), KW: ("mw",)}),
    Row("duty speed over synchronous speed", "", 0.55, 1.2, "a motor runs just below synchronous speed",
        ("motor.poles", "load.duty_rpm", "@final_hz"), find_pair_share, {},
        (Slip("motor.poles", "a number of pole pairs", lambda v: 2 * v["motor.poles"]),)),
    Row("duty speed over synchronous speed", "", 0.15, 2.2, "speeds near synchronous",
        ("load.duty_rpm", "@poles", "motor.frequency_hz"), find_speed_share, {"load.duty_rpm": ("rad_per_s",)},
        (Slip("load.duty_rpm", "turns per second", lambda v: 60.0 * v["load.duty_rpm"]),)),
    Row("locked-rotor current", "%", 250.0, 1050.0, "NEMA code letters, 400 to 700 % at medium voltage",
        ("motor.locked_rotor_current_pct", KW, "motor.rated_kv"), lambda v: v["motor.locked_rotor_current_pct"], {},
        (Slip("motor.locked_rotor_current_pct", "a current in A",
              lambda v: 100.0 * v["motor.locked_rotor_current_pct"] / find_current(v)),)),
    Row("natural frequency of the twist", "Hz", 0.3, 2000.0, "shaft lines 5 to 200 Hz",
        ("shaft.stiffness_knm_per_rad", ROTOR, DRIVEN), find_twist_frequency,
        {"shaft.stiffness_knm_per_rad": ("nm_per_rad",)}),
)


def circuit_rows(part: str, what: str, low: float, high: float, reason: str) -> tuple[Row, Row]:
    """Rows of a value of the equivalent circuit, in per unit and in ohm, both held against the per-unit range."""
    ohm, pu = f"motor.circuit.{part}_ohm", f"motor.circuit.{part}_pu"
    return (own(what, pu, low, high, reason, ("pct",), Slip(pu, "a value in ohm", lambda v: v[pu] / find_base(v))),
            Row(what, "pu", low, high, reason, (ohm, KW, "motor.rated_kv"), lambda v: v[ohm] / find_base(v),
                {ohm: ("mohm",)}, (Slip(ohm, "a value in pu", lambda v: v[ohm] * find_base(v)),)))


CIRCUIT = (
    *circuit_rows("magnetising_reactance", "magnetising reactance", 0.5, 500.0, "no-load current 10 to 70 % of rated"),
    *circuit_rows("stator_resistance", "stator resistance", 2e-4, 0.15, "0.005 to 0.05 pu"),
    *circuit_rows("rotor_resistance", "rotor resistance", 5e-4, 0.4, "0.005 to 0.05 pu, a starting cage more"),
    *circuit_rows("stator_reactance", "stator leakage reactance", 0.01, 0.5, "0.05 to 0.15 pu"),
    *circuit_rows("rotor_reactance", "rotor leakage reactance", 0.01, 1.0, "0.05 to 0.25 pu"),
    *circuit_rows("second_rotor_resistance", "resistance of the second cage", 1e-3, 3.0, "0.01 to 0.5 pu"),
    *circuit_rows("second_rotor_reactance", "leakage reactance of the second cage", 1e-3, 3.0, "0.03 to 0.5 pu"),
)


def find_longest(v: Values, key: str) -> float:
    """Largest number of a list."""
    return max(v[key], default=0.0)


NO_LOAD = tuple(
    Row(f"largest {what} of the no-load curve", "%", low, high, reason, (key,), partial(find_longest, key=key),
        {key: ("pu",)})
    for key, what, low, high, reason in (
        ("motor.no_load_voltage_pct", "voltage", 90.0, 170.0, "110 to 130 % of rated"),
        ("motor.no_load_current_pct", "current", 8.0, 400.0, "30 to 150 % of rated")))
LOAD = (
    own("breakaway torque", "load.breakaway_pct", 1.0, 400.0, "5 to 100 %", ("pu",)),
    own("lowest torque", "load.dip_pct", 0.6, 99.0, "5 to 10 %", ("pu",)),
    own("speed of the lowest torque", "load.dip_speed_pct", 1.5, 90.0, "10 to 30 %", ("pu",)),
    own("constant torque", "load.constant_pct", 0.6, 100.0, "5 to 20 %", ("pu",)),
    own("load", "load.load_pct", 3.0, 300.0, "full load is 100 %", ("pu",)),
    own("static lift", "load.static_lift_pct", 1.0, 99.0, "of duty head", ("pu",)),
    *(Row(f"largest {what} of the table", "%", low, 1000.0, "the duty point is 100 %", (key,),
          partial(find_longest, key=key), {key: ("pu",)})
      for key, what, low in (("load.speed_pct", "speed", 4.0), ("load.torque_pct", "torque", 4.0))),
)
MACHINE = (*NAMEPLATE, *INERTIAS, *CIRCUIT, *NO_LOAD, *LOAD)
