"""Records of breakers, of reactors and arresters at a node, of faults and of random closings."""

from collections.abc import Mapping
from typing import Any

from sim.case.book.databook import Book
from sim.case.read.validation import Item, Parts
from sim.case.records.cable_joints import find_fault_node
from sim.components.at_nodes import arrester, reactor
from sim.components.branches import breaker
from sim.components.fields import Filled
from sim.params.arrester_curve import make_chords, scale_typical
from sim.units import Record, convert

LEAST_FAULT_OHM = 1e-3      # a solid fault: some metres of bar [ohm]


def build_breaker(item: Item, nominal_kv: float, parts: Parts, book: Book) -> Record:
    """Breaker with its rated voltage and soft starter, if any; what the race of the gap needs is entered where it is
    on."""
    levels = {node.name: node.table.um_kv for node in parts.of("node")}
    um = next((levels[end] for end in item.ends if levels.get(end) is not None), None)
    values = convert(book.enter_table(item.path, item.table, item.table.grade,
                                      breaker.find_defaults(item.table, nominal_kv, um),
                                      skip=find_unwritten(item, breaker.list_idle(item.table))))
    soft = item.table.soft_start
    if soft is not None:
        soft = convert(book.enter_table(f"{item.path}.soft_start", soft, item.table.grade))
    return Record(**vars(values), soft_start=soft)


def find_unwritten(item: Item, names: tuple[str, ...]) -> tuple[str, ...]:
    """Those of some fields that the case does not give."""
    return tuple(name for name in names if name not in item.table.model_fields_set)


def build_reactor(item: Item, nominal_kv: float, frequency: float, book: Book) -> Record:
    """Reactor with inductance and resistance of a coil."""
    table, path = item.table, item.path
    values = convert(book.enter_table(path, table, table.grade, reactor.find_defaults(table, nominal_kv),
                                      skip=find_unwritten(item, reactor.list_idle(table))))
    inductance, resistance = reactor.find_coil(values.rated_var, values.rated_v, values.quality, frequency)
    sources = [f"{path}.{key}" for key in ("rated_mvar", "rated_kv", "quality")]
    book.derive(f"{path}.inductance_mh", 1e3 * inductance, f"star equivalent at {frequency:g} Hz", sources)
    book.derive(f"{path}.resistance_ohm", resistance, f"star equivalent at {frequency:g} Hz", sources)
    return Record(**vars(values), inductance_h=inductance, resistance_ohm=resistance, frequency_hz=frequency)


def build_arrester(item: Item, book: Book) -> Record:
    """Arrester with its curve as chords and the energy it may take in all."""
    table, path = item.table, item.path
    values = vars(convert(book.enter_table(path, table, table.grade, arrester.find_defaults(table))))
    given = zip(values["curve_a"], values["curve_v"]) if arrester.has_curve(table) else None
    points = list(given) if given else scale_typical(values["residual_v"])
    currents, volts = map(list, zip(*make_chords(points)))
    rating = values.pop("energy_j_per_v")
    energy = None if rating is None else rating * values["rated_v"]
    if energy is not None:
        book.derive(f"{path}.energy_kj", energy / 1e3, "energy_kj_per_kv and rated_kv",
                    [f"{path}.energy_kj_per_kv", f"{path}.rated_kv"])
    return Record(**values | {"curve_a": currents, "curve_v": volts, "energy_j": energy})


def build_fault(item: Item, parts: Parts, book: Book) -> Record:
    """Fault at the node it makes or finds; a solid one has a resistance of its own."""
    node = find_fault_node(item, parts)
    filled = {"node": Filled(node, "cable and at_km", "derived")}
    skip = () if item.table.earth else find_unwritten(item, ("earth_resistance_ohm",))
    values = vars(convert(book.enter_table(item.path, item.table, None, filled, skip)))
    kept = {key: value for key, value in values.items() if key not in ("cable", "at_m")}
    return Record(**kept | {"resistance_ohm": max(values["resistance_ohm"], LEAST_FAULT_OHM)})


def build_shots(parts: Parts, frequency: Mapping[str, float], book: Book) -> Record | None:
    """Random closings from the first order to close on, within one period unless told otherwise."""
    table = parts.single.get("shots")
    if table is None:
        return None
    near = next(item.ends[0] for item in parts.of("breaker") if item.name == table.breaker)
    filled: dict[str, Any] = {"spread_ms": Filled(1e3 / frequency[near], "one period of the rated frequency",
                                                  "derived")}
    if (first := find_first_close(table.breaker, parts)) is not None:
        filled["at_s"] = Filled(first, "the first event that closes the breaker", "derived")
    return convert(book.enter_table("shots", table, None, filled))


def find_first_close(name: str, parts: Parts) -> float | None:
    """Time of the first order that closes a breaker, None when there is none. [s]"""
    times = [item.table.at_s for item in parts.of("event")
             if item.table.action == "close" and item.table.target == name and item.table.at_s is not None]
    return min(times, default=None)
