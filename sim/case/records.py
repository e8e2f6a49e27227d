"""From validated components to records in SI, with the data book of what was used."""

from typing import Any

from sim.case.databook import Book
from sim.case.network import Statement, find_islands, find_nominal, order_nodes
from sim.case.validation import Item, Parts
from sim.components import SOURCES, cable, drive, load, motor
from sim.components.fields import Filled
from sim.components.node import Node
from sim.units import Record, convert

DEFAULTS = {"cable": cable.find_defaults, "drive": drive.find_defaults}


def build_records(parts: Parts, book: Book) -> dict[str, Any]:
    """All records of a case, keyed as the attributes of CheckedCase.

    Parameters
    ----------
    parts : Parts
        Without faults.
    book : Book
        Receives an entry for every value.
    """
    kinds = ("grid", "drive", "transformer", "cable", "breaker", "shunt")
    study, criteria = (book.enter_table(name, parts.single[name], None) for name in ("study", "criteria"))
    records = {f"{kind}s": [build_component(item, book) for item in parts.of(kind)] for kind in kinds}
    return {"study": convert(study), "criteria": Record(**criteria), "nodes": build_nodes(parts, book),
            **records,
            "machines": [build_machine(item, book) for item in parts.of("machine")],
            "events": [convert(book.enter_table(item.path, item.table, None)) for item in parts.of("event")]}


def build_component(item: Item, book: Book) -> Record:
    filled = DEFAULTS[item.kind](item.table) if item.kind in DEFAULTS else None
    return convert(book.enter_table(item.path, item.table, item.table.grade, filled))


def build_nodes(parts: Parts, book: Book) -> list[Record]:
    """Records of all nodes, with nominal voltage, island and rated frequency of the island's source."""
    tables = {item.name: item.table for item in parts.of("node")}
    nominal = find_nominal(parts)
    places = {node: (number, find_frequency(parts, island))
              for number, island in enumerate(find_islands(parts)) for node in island}
    return [build_node(tables.get(name) or Node(name=name), nominal[name], places[name], book)
            for name in order_nodes(parts)]


def find_frequency(parts: Parts, island: list[str]) -> float:
    """Rated frequency of the source of an island. [Hz]"""
    return next(item.table.frequency_hz for item in parts.of(*SOURCES) if item.ends[0] in island)


def build_node(node: Node, said: Statement, place: tuple[int, float], book: Book) -> Record:
    filled = {"nominal_kv": Filled(said.kv, said.path, "derived")}
    record = vars(convert(book.enter_table(node.name, node, "C", filled)))
    return Record(**record, island=place[0], frequency_hz=place[1])


def build_machine(item: Item, book: Book) -> Record:
    machine, path = item.table, item.path
    outer = book.enter_table(path, machine, machine.grade)
    rated = build_motor(f"{path}.motor", machine.motor, machine.motor.grade or machine.grade, book)
    shaft = book.enter_table(f"{path}.shaft", machine.shaft, machine.shaft.grade or machine.grade)
    driven = build_load(f"{path}.load", machine.load, machine.load.grade or machine.grade, rated, book)
    shaft["grade"] = machine.shaft.grade or machine.grade
    return convert({**outer, "motor": rated, "shaft": shaft, "load": driven})


def build_motor(path: str, table: motor.Motor, grade: str, book: Book) -> dict[str, Any]:
    """Nameplate with speed, torque and current; the circuit in ohm."""
    values = book.enter_table(path, table, grade, motor.find_defaults(table))
    speed = values.pop("rated_rpm")
    torque = motor.find_torque(table.rated_kw, speed)
    current = motor.find_rated_current(table)
    book.enter(f"{path}.rated_torque_nm", torque, "derived", grade, "rated_kw and rated_rpm")
    book.enter(f"{path}.rated_current_a", current, "derived", grade,
               "rated_kw, rated_kv, efficiency_pu and power_factor_pu")
    circuit = build_circuit(f"{path}.circuit", table, grade, book)
    return {**values, "grade": grade, "rated_speed_rpm": speed, "rated_torque_nm": torque,
            "rated_current_a": current, "circuit": circuit}


def build_circuit(path: str, table: motor.Motor, grade: str, book: Book) -> dict[str, float | None]:
    values = motor.find_circuit(table)
    for name in sorted(table.circuit.model_fields_set, key=list(motor.Circuit.model_fields).index):
        ohm = values[f"{name.rpartition('_')[0]}_ohm"]
        here = f"{path}.{name}"
        book.enter(here, getattr(table.circuit, name), "given", grade, book.find_place(here), (ohm, "ohm"))
    return values


def build_load(path: str, table: load.Load, grade: str, rated: dict, book: Book) -> dict[str, Any]:
    """Load with torque and speed of the duty point; what its kind does not use is zero or empty."""
    unused = tuple(key for key in load.USED_BY if not load.is_used(key, table.kind))
    filled = load.find_defaults(table, rated["rated_kw"], rated["rated_speed_rpm"])
    values = book.enter_table(path, table, grade, filled, skip=unused)
    values |= {key: 0.0 for key in unused if key.endswith("_pct")}
    for key in ("speed_pct", "torque_pct"):
        values[key] = list(values[key]) if table.kind == "table" else []
    power, speed = values.pop("duty_kw"), values.pop("duty_rpm")
    torque = motor.find_torque(power, speed)
    return {**values, "grade": grade, "duty_speed_rpm": speed, "duty_torque_nm": torque}
