"""Suspicions: values that are allowed but look like a slip of unit or base, with the value that was likely meant."""

from collections.abc import Iterator
from typing import Any

from sim.case.read.messages import find_range
from sim.case.read.validation import Item, Parts
from sim.case.suspect import usual_feeders as plausible
from sim.case.suspect.traces import Scene, Suspicion, examine
from sim.case.suspect.usual_machines import MACHINE
from sim.case.voltages import find_nominal
from sim.components.branches import cable as cables
from sim.components.declared import find_key
from sim.components.fields import Table
from sim.components.kinds import SOURCES
from sim.components.machines import motor as motors
from sim.topology import find_islands, find_zones

ROWS = {"node": plausible.NODE, "grid": plausible.GRID, "drive": plausible.DRIVE, "transformer": plausible.TRANSFORMER,
        "shunt": plausible.SHUNT, "event": plausible.EVENT}
COUNTS = (int, int | None)
INNER = ("motor", "shaft", "load")


def list_suspicions(parts: Parts) -> list[str]:
    """All suspicions of a case without mistakes, one sentence each."""
    return [found.text for scene in list_scenes(parts) for found in examine(scene, parts.spellings)]


def explain(mistakes: list[str], parts: Parts) -> list[str]:
    """Mistakes with what was likely meant, where a slip in a value they name explains them."""
    found = [one for scene in list_lone_scenes(parts) for one in examine(scene, parts.spellings)]
    return [f"{mistake} {meant}" if (meant := find_meaning(mistake, found)) else mistake for mistake in mistakes]


def find_meaning(mistake: str, suspicions: list[Suspicion]) -> str:
    """The question of the suspicion that a mistake is about, empty when there is none or the mistake asks itself."""
    for one in suspicions:
        if mistake.startswith(f"{one.path}.") and any(key in mistake for key in one.keys) and " mean" not in mistake:
            return one.text[one.text.index("Did you mean"):] if "Did you mean" in one.text else ""
    return ""


def list_lone_scenes(parts: Parts) -> Iterator[Scene]:
    """Cables, transformers and sources by themselves, as far as they are sound."""
    for item in parts.items:
        if item.kind == "cable" and None not in item.table.section:
            yield from list_lines(item, {})
        elif item.kind in ("transformer", *SOURCES):
            yield make_scene(item.path, item.table, ROWS[item.kind], {})


def list_scenes(parts: Parts) -> Iterator[Scene]:
    """What there is to examine: limits, components, sections of cables and machines."""
    yield make_scene("criteria", parts.single["criteria"], plausible.CRITERIA, {})
    around = {item.path: describe_place(item, parts) for item in parts.items if item.ends and None not in item.ends}
    for item in parts.items:
        if item.kind == "cable":
            yield from list_lines(item, around[item.path])
        elif item.kind == "machine":
            yield make_machine_scene(item, around[item.path])
        elif item.kind in ROWS:
            yield make_scene(item.path, item.table, ROWS[item.kind], around.get(item.path, {}))


def describe_place(item: Item, parts: Parts) -> dict[str, float | None]:
    """What surrounds a component: voltage, frequency, and what its island and its grid feed."""
    near = item.ends[0]
    island = next(island for island in find_islands(parts.items) if near in island)
    zone = next(zone for zone in find_zones(parts.items) if near in zone)
    source = next(other.table for other in parts.of(*SOURCES) if other.ends[0] in island)
    powers = [motors.find_rated_va(other.table.motor) / 1e3 for other in parts.of("machine") if other.ends[0] in island]
    fed = [other.table.rated_mva for other in parts.of("transformer") if set(other.ends) & set(zone)]
    return {"@nominal_kv": find_nominal(parts)[near].kv, "@frequency_hz": source.frequency_hz,
            "@final_hz": getattr(source, "target_hz", None) or source.frequency_hz,
            "@motors_kva": sum(powers) or None, "@largest_kva": max(powers, default=None),
            "@transformer_mva": max(fed, default=None)}


def read_table(table: Table, prefix: str = "") -> tuple[dict[str, Any], set[str]]:
    """Values of a table by key, and the keys to examine.

    These are the keys that were written, but for values at the end of what is allowed: an ideal line or a stiff source
    is meant.
    """
    values, written = {}, set()
    for name, declared in type(table).model_fields.items():
        key = prefix + find_key(name, declared)
        values[key] = getattr(table, name)
        is_end = declared.annotation not in COUNTS and values[key] in find_range(declared).values()
        if name in table.model_fields_set and not is_end:
            written.add(key)
    return values, written


def make_scene(path: str, table: Table, rows: tuple, around: dict[str, Any]) -> Scene:
    """Scene of a table without tables within."""
    values, written = read_table(table)
    return Scene(path, values | around, frozenset(written), rows)


def list_lines(item: Item, around: dict[str, Any]) -> Iterator[Scene]:
    """Scene of a cable and of each of its sections; what a section takes from its cable is examined with the cable."""
    yield make_scene(item.path, item.table, plausible.LINE, around)
    for k, section in enumerate(item.table.section, start=1):
        whole, _ = read_table(cables.inherit(section, item.table))
        _, written = read_table(section)
        yield Scene(f"{item.path}.section[{k}]", whole | around, frozenset(written), plausible.LINE)


def make_machine_scene(item: Item, around: dict[str, Any]) -> Scene:
    """Scene of a machine with the tables within, their keys behind a dot."""
    machine = item.table
    motor = machine.motor
    product = motors.find_efficiency(motor).value * motors.find_power_factor(motor).value
    values: dict[str, Any] = {**around, "@kind": machine.load.kind, "@poles": motors.find_poles(motor),
                              "@product": product}
    written: set[str] = set()
    for prefix, table in (*((f"{name}.", getattr(machine, name)) for name in INNER), ("motor.circuit.", motor.circuit)):
        below, keys = read_table(table, prefix)
        values |= below
        written |= keys
    return Scene(item.path, values, frozenset(written), MACHINE)
