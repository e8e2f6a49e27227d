"""From validated components to records in SI, with the data book of what was used."""

from typing import Any

from sim.case.book.databook import Book
from sim.case.read.validation import Item, Parts
from sim.case.records.apparatus import build_arrester, build_breaker, build_fault, build_reactor, build_shots
from sim.case.records.cable_joints import list_stations
from sim.case.records.cables import build_cable
from sim.case.records.drives import build_drive
from sim.case.records.motors import build_motor
from sim.case.records.trains import build_load, build_shaft, needs_parts
from sim.case.voltages import Statement, find_frequencies, find_nominal
from sim.components.at_nodes.node import Node
from sim.components.branches import transformer
from sim.components.fields import PROVENANCE, Filled
from sim.topology import find_islands, order_nodes
from sim.units import Record, convert

DEFAULTS = {"transformer": transformer.find_defaults}


def build_records(parts: Parts, book: Book) -> dict[str, Any]:
    """All records of a case, keyed as the attributes of CheckedCase.

    Parameters
    ----------
    parts : Parts
        Without mistakes.
    book : Book
        Receives an entry for every value.
    """
    kinds = ("grid", "transformer", "shunt")
    study, criteria = (book.enter_table(name, parts.single[name], None) for name in ("study", "criteria"))
    records = {f"{kind}s": [build_component(item, book) for item in parts.of(kind)] for kind in kinds}
    records["transformers"] += build_autotransformers(parts, book)
    return {"study": convert(study), "criteria": Record(**criteria), "nodes": build_nodes(parts, book),
            **records, "series_reactors": build_series_reactors(parts, book), "drives": build_drives(parts, book),
            "cables": build_cables(parts, book),
            **build_switching(parts, book),
            "machines": [build_machine(item, book) for item in parts.of("machine")],
            "events": [convert(book.enter_table(item.path, item.table, None)) for item in parts.of("event")]}


def build_switching(parts: Parts, book: Book) -> dict[str, Any]:
    """Records of what switches, what stands at a node to earth, and of faults and random closings."""
    nominal, frequency = find_nominal(parts), find_frequencies(parts)
    return {"breakers": [build_breaker(item, nominal[item.ends[0]].kv, parts, book) for item in parts.of("breaker")],
            "reactors": [build_reactor(item, nominal[item.ends[0]].kv, frequency[item.ends[0]], book)
                         for item in parts.of("reactor")],
            "arresters": [build_arrester(item, book) for item in parts.of("arrester")],
            "faults": [build_fault(item, parts, book) for item in parts.of("fault")],
            "shots": build_shots(parts, frequency, book)}


def build_component(item: Item, book: Book) -> Record:
    """Record of a component without tables within."""
    filled = DEFAULTS[item.kind](item.table) if item.kind in DEFAULTS else None
    return convert(book.enter_table(item.path, item.table, item.table.grade, filled))


def build_drives(parts: Parts, book: Book) -> list[Record]:
    """Records of all drives."""
    nominal, frequency = find_nominal(parts), find_frequencies(parts)
    return [build_drive(item, nominal, frequency, book) for item in parts.of("drive")]


def build_autotransformers(parts: Parts, book: Book) -> list[Record]:
    """Autotransformers as transformers in star, the tap their second winding."""
    nominal, records = find_nominal(parts), []
    for item in parts.of("autotransformer"):
        own = book.enter_table(item.path, item.table, item.table.grade)
        kv = nominal[item.ends[0]].kv
        like = transformer.Transformer(**{
            "name": own["name"], "from": item.ends[0], "to": item.ends[1], "from_kv": kv,
            "to_kv": kv * own["tap_pct"] / 100.0, "vector_group": "Yy0",
            **{key: own[key] for key in ("rated_mva", "impedance_pct", "x_over_r", "no_load_current_pct", "knee_pu")}})
        filled = transformer.find_defaults(like)
        values = {name: filled[name].value if value is None and name in filled else value
                  for name, value in ((name, getattr(like, name)) for name in type(like).model_fields)}
        records.append(convert({name: value for name, value in values.items() if name not in PROVENANCE[1:]}))
    return records


def build_series_reactors(parts: Parts, book: Book) -> list[Record]:
    """Series reactors with the rated frequency of where they stand."""
    frequency = find_frequencies(parts)
    return [Record(**vars(build_component(item, book)), frequency_hz=frequency[item.ends[0]])
            for item in parts.of("series_reactor")]


def build_cables(parts: Parts, book: Book) -> list[Record]:
    """Records of all cables."""
    nominal, frequency = find_nominal(parts), find_frequencies(parts)
    return [build_cable(item, nominal[item.ends[0]].kv, frequency[item.ends[0]], list_stations(item, parts), book)
            for item in parts.of("cable")]


def build_nodes(parts: Parts, book: Book) -> list[Record]:
    """Records of all nodes, with nominal voltage, island and rated frequency of the island's source."""
    tables = {item.name: item.table for item in parts.of("node")}
    nominal = find_nominal(parts)
    islands = {node: number for number, island in enumerate(find_islands(parts.items)) for node in island}
    frequency = find_frequencies(parts)
    nodes = [build_node(tables.get(name) or Node(name=name), nominal[name], (islands[name], frequency[name]), book)
             for name in order_nodes(parts.items)]
    return nodes + [make_joint(station.node, next(node for node in nodes if node.name == item.ends[0]))
                    for item in parts.of("cable") for station in list_stations(item, parts)]


def make_joint(name: str, near: Record) -> Record:
    """Joint or fault along a cable: the node of its near end under another name, without its equipment."""
    return Record(**{**vars(near), "name": name, "um_v": None, "lightning_withstand_v": None, "stray_f": 0.0})


def build_node(node: Node, said: Statement, place: tuple[int, float], book: Book) -> Record:
    """Record of a node; `place` holds its island and the rated frequency there [Hz]."""
    filled = {"nominal_kv": Filled(said.kv, said.path, "derived")}
    record = vars(convert(book.enter_table(node.name, node, "C", filled)))
    return Record(**record, island=place[0], frequency_hz=place[1])


def build_machine(item: Item, book: Book) -> Record:
    """Record of a machine with motor, shaft and load."""
    machine, path = item.table, item.path
    outer = book.enter_table(path, machine, machine.grade)
    rated = build_motor(f"{path}.motor", machine.motor, machine.motor.grade or machine.grade, needs_parts(machine),
                        book)
    driven = build_load(f"{path}.load", machine.load, machine.load.grade or machine.grade, rated, book)
    shaft = build_shaft(path, machine, rated, driven, machine.shaft.grade or machine.grade, book)
    figures = rated.pop("figures")
    record = convert({**outer, "motor": rated, "shaft": shaft, "load": driven})
    return Record(**{**vars(record), "motor": Record(**vars(record.motor), figures=figures)})
