"""From validated components to records in SI, with the data book of what was used."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from sim.case.book.databook import Book
from sim.case.read.validation import Item, Parts
from sim.case.records.apparatus import build_arrester, build_breaker, build_fault, build_reactor, build_shots
from sim.case.records.cable_joints import list_points
from sim.case.records.cables import build_cable
from sim.case.records.drives import build_drive
from sim.case.records.motors import build_motor
from sim.case.records.trains import build_load, build_shaft, needs_parts
from sim.case.voltages import Statement, find_frequencies, find_nominal
from sim.components.at_nodes.node import Node
from sim.components.branches import transformer
from sim.components.fields import PROVENANCE, Filled
from sim.components.kinds import COMPONENTS, ROWS
from sim.topology import find_islands, order_nodes
from sim.units import Record, convert


@dataclass(frozen=True)
class Site:
    """What a record may need beside its own table: the case, what sets each node's voltage, and its frequency [Hz]."""

    parts: Parts
    book: Book
    nominal: Mapping[str, Statement]
    frequency: Mapping[str, float]


def build_records(parts: Parts, book: Book) -> dict[str, Any]:
    """All records of a case, keyed as the attributes of CheckedCase.

    Parameters
    ----------
    parts : Parts
        Without mistakes.
    book : Book
        Receives an entry for every value.
    """
    site = Site(parts, book, find_nominal(parts), find_frequencies(parts))
    study, criteria = (book.enter_table(name, parts.single[name], None) for name in ("study", "criteria"))
    records: dict[str, list[Record]] = {row.records: [] for row in ROWS.values() if row.is_component}
    for kind in COMPONENTS:
        build = BUILDERS.get(kind, build_plain)
        records[ROWS[kind].records] += [build(item, site) for item in parts.of(kind)]
    return {"study": convert(study), "criteria": Record(**criteria), "nodes": build_nodes(parts, book), **records,
            "shots": build_shots(parts, site.frequency, book),
            "events": [convert(book.enter_table(item.path, item.table, None)) for item in parts.of("event")]}


def build_plain(item: Item, site: Site) -> Record:
    """Record of a component without tables within, with the rated frequency of where it stands."""
    filled = transformer.find_defaults(item.table) if item.kind == "transformer" else None
    values = vars(convert(site.book.enter_table(item.path, item.table, item.table.grade, filled)))
    return Record(**{"frequency_hz": site.frequency[item.ends[0]], **values})


def build_autotransformer(item: Item, site: Site) -> Record:
    """An autotransformer as a transformer in star, the tap its second winding."""
    own, kv = site.book.enter_table(item.path, item.table, item.table.grade), site.nominal[item.ends[0]].kv
    like = transformer.Transformer(**{
        "name": own["name"], "from": item.ends[0], "to": item.ends[1], "from_kv": kv,
        "to_kv": kv * own["tap_pct"] / 100.0, "vector_group": "Yy0",
        **{key: own[key] for key in ("rated_mva", "impedance_pct", "x_over_r", "no_load_current_pct", "knee_pu",
                                   "high_frequency_quality")}})
    filled = transformer.find_defaults(like)
    values = {name: filled[name].value if value is None and name in filled else value
              for name, value in ((name, getattr(like, name)) for name in type(like).model_fields)}
    record = vars(convert({name: value for name, value in values.items() if name not in PROVENANCE[1:]}))
    return Record(**record, frequency_hz=site.frequency[item.ends[0]])


# what an item becomes, where that is more than its table in SI
BUILDERS: dict[str, Callable[[Item, Site], Record]] = {
    "drive": lambda item, site: build_drive(item, site.nominal, site.frequency, site.book),
    "autotransformer": build_autotransformer,
    "cable": lambda item, site: build_cable(item, site.nominal[item.ends[0]].kv, site.frequency[item.ends[0]],
                                            list_points(item, site.parts), site.book),
    "breaker": lambda item, site: build_breaker(item, site.nominal[item.ends[0]].kv, site.parts, site.book),
    "reactor": lambda item, site: build_reactor(item, site.nominal[item.ends[0]].kv, site.frequency[item.ends[0]],
                                                site.book),
    "arrester": lambda item, site: build_arrester(item, site.book),
    "fault": lambda item, site: build_fault(item, site.parts, site.book),
    "machine": lambda item, site: build_machine(item, site.book),
}


def build_nodes(parts: Parts, book: Book) -> list[Record]:
    """Records of all nodes, with nominal voltage, island and rated frequency of the island's source."""
    tables = {item.name: item.table for item in parts.of("node")}
    nominal = find_nominal(parts)
    islands = {node: number for number, island in enumerate(find_islands(parts.items)) for node in island}
    frequency = find_frequencies(parts)
    nodes = [build_node(tables.get(name) or Node(name=name), nominal[name], (islands[name], frequency[name]), book)
             for name in order_nodes(parts.items)]
    return nodes + [make_joint(point.node, next(node for node in nodes if node.name == item.ends[0]))
                    for item in parts.of("cable") for point in list_points(item, parts)]


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
