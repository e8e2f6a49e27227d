"""What a motor turns: the driven machine's torque and inertia, and the shaft between."""

from math import pi
from typing import Any

from sim.case.book.databook import Book
from sim.components.fields import Filled, given
from sim.components.machines import load, machine, motor
from sim.params.driven_machine import TorqueTable, compressor_curve, pump_curve
from sim.params.inertia import (
    estimate_compressor_inertia,
    estimate_pump_inertia,
    estimate_torsional_damping,
    torsional_stiffness,
)

SHAPED = {"pump": ("discharge", "static_lift_pct", "density_factor_pu", "viscosity_factor_pu"),
          "compressor": ("settle_out_pct",)}
# shown in the data book where the case says something about them
NEUTRAL = ("service", "inertia_kgm2", "closed_pct", *SHAPED["pump"], *SHAPED["compressor"])
INERTIAS = {"pump": estimate_pump_inertia, "compressor": estimate_compressor_inertia}


def build_load(path: str, table: load.Load, grade: str, rated: dict, book: Book) -> dict[str, Any]:
    """Load with torque and speed of the duty point; what its kind does not use is zero or empty.

    A start that differs from the law of its kind (closed discharge, static lift, other liquid or gas) turns
    into a table.
    """
    unused = tuple(key for key in load.USED_BY if not load.is_used(key, table.kind))
    neutral = tuple(key for key in NEUTRAL if key not in table.model_fields_set)
    filled = load.find_defaults(table, rated["rated_kw"], rated["rated_speed_rpm"])
    values = book.enter_table(path, table, grade, filled, skip=(*unused, *neutral))
    values |= {key: 0.0 for key in unused if key.endswith("_pct")}
    for key in ("speed_pct", "torque_pct"):
        values[key] = list(values[key]) if table.kind == "table" else []
    values |= shape(table, values)
    power, speed = values.pop("duty_kw"), values.pop("duty_rpm")
    torque = motor.find_torque(power, speed)
    return {**values, "grade": grade, "duty_speed_rpm": speed, "duty_torque_nm": torque}


def shape(table: load.Load, values: dict[str, Any]) -> dict[str, Any]:
    """Kind and curve of a start that a table has to describe; empty where the law of its kind does."""
    neutral = {key: type(table).model_fields[key].default for key in SHAPED.get(table.kind, ())}
    if all(values[key] == default for key, default in neutral.items()):
        return {}
    curve = draw_pump(values) if table.kind == "pump" else draw_compressor(values)
    return {"kind": "table", "speed_pct": [100.0 * n for n in curve.speeds],
            "torque_pct": [100.0 * t for t in curve.torques], "breakaway_pct": 100.0 * curve.torques[0]}


def draw_pump(values: dict[str, Any]) -> TorqueTable:
    """Torque of a pump over speed as the case describes its start."""
    return pump_curve(values["breakaway_pct"] / 100.0, values["dip_pct"] / 100.0, values["dip_speed_pct"] / 100.0,
                      values["discharge"], values["static_lift_pct"] / 100.0, values["closed_pct"] / 100.0,
                      density=values["density_factor_pu"], viscosity=values["viscosity_factor_pu"])


def draw_compressor(values: dict[str, Any]) -> TorqueTable:
    """Torque of a compressor started from settle-out pressure."""
    return compressor_curve(values["constant_pct"] / 100.0, values["breakaway_pct"] / 100.0,
                            values["settle_out_pct"] / 100.0)


def needs_parts(item: machine.Machine) -> bool:
    """Whether motor and driven machine need an inertia each."""
    return item.shaft.inertia_kgm2 is None or machine.has_train(item.shaft)


def build_shaft(path: str, item: machine.Machine, rated: dict, driven: dict, grade: str, book: Book) -> dict[str, Any]:
    """Inertias, and stiffness and damping where motor and driven machine are two masses."""
    shaft = item.shaft
    total = shaft.inertia_kgm2
    has_train = machine.has_train(shaft)
    parts = enter_inertias(path, item, rated, driven, total, book) if needs_parts(item) else None
    keys = ("stiffness_knm_per_rad", "damping_nms_per_rad", "length_m", "diameter_mm")
    unused = tuple(key for key in keys if not has_train and key not in shaft.model_fields_set)
    filled = {"inertia_kgm2": Filled(sum(parts), "")} if parts else {}
    filled |= find_twist(shaft, given(parts)) if has_train else {}
    values = book.enter_table(f"{path}.shaft", shaft, grade, filled, skip=unused)
    if parts and total is None:
        book.derive(f"{path}.shaft.inertia_kgm2", sum(parts), "motor and driven machine added",
                    [f"{path}.motor.inertia_kgm2", f"{path}.load.inertia_kgm2"])
    motor_part, load_part = parts or (None, None)
    return {**values, "motor_inertia_kgm2": motor_part, "load_inertia_kgm2": load_part, "grade": grade}


def enter_inertias(path: str, item: machine.Machine, rated: dict, driven: dict, total: float | None,
                   book: Book) -> tuple[float, float]:
    """Inertia of motor and of driven machine, each given, estimated, or the rest of the total."""
    own, other = rated["inertia_kgm2"], item.load.inertia_kgm2
    if other is not None:
        return own, other
    if total is not None and total > own:
        other = total - own
        book.derive(f"{path}.load.inertia_kgm2", other, "what the motor leaves of shaft.inertia_kgm2",
                    [f"{path}.motor.inertia_kgm2"])
    else:
        other, basis = estimate_load_inertia(item.load.kind, driven)
        book.enter(f"{path}.load.inertia_kgm2", other, "default", "D", basis)
    return own, other


def estimate_load_inertia(kind: str, driven: dict) -> tuple[float, str]:
    """Inertia of a driven machine from its duty point. [kg m2]"""
    speed = driven["duty_speed_rpm"] * pi / 30.0
    if kind == "none":
        return 0.0, "no driven machine"
    return INERTIAS.get(kind, estimate_pump_inertia)(driven["duty_torque_nm"] * speed, speed)


def find_twist(shaft: machine.Shaft, parts: tuple[float, float]) -> dict[str, Filled]:
    """Stiffness from the shaft's dimensions, and the usual damping."""
    filled = {}
    stiffness = (shaft.stiffness_knm_per_rad or 0.0) * 1e3
    if shaft.length_m is not None:
        stiffness = torsional_stiffness(shaft.length_m, given(shaft.diameter_mm) / 1e3)
        filled["stiffness_knm_per_rad"] = Filled(stiffness / 1e3, "length_m and diameter_mm, solid steel", "derived")
    damping = estimate_torsional_damping(stiffness, *parts)
    return filled | {"damping_nms_per_rad": Filled(*damping)}
