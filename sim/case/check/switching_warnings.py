"""Warnings about switching and protection: what can be simulated but is likely not what was meant."""

from collections.abc import Iterator

from sim.case.check.at_nodes import find_continuous
from sim.case.read.validation import Parts
from sim.case.voltages import find_nominal
from sim.components.at_nodes import reactor
from sim.components.branches import breaker
from sim.components.branches.transformer import split_group
from sim.components.fields import Read
from sim.components.kinds import SOURCES
from sim.topology import find_zones


def warn_switching(parts: Parts) -> Iterator[str]:
    """All warnings about switching of a case without mistakes."""
    yield from warn_arresters(parts)
    yield from warn_breakers(parts)
    for item in parts.of("reactor"):
        yield from warn_idle(item.path, item.table, reactor.list_idle(item.table), "knee_pu")
    duration = parts.single["study"].duration_s
    for item in parts.of("fault"):
        if item.table.clear_s is not None and item.table.clear_s > duration:
            yield (f"{item.path}.clear_s = {item.table.clear_s:g}: after study.duration_s = {duration:g}, the fault "
                   "stays to the end")
    yield from warn_shots(parts)


def warn_arresters(parts: Parts) -> Iterator[str]:
    """Without an earthed neutral an earth fault puts the voltage between lines across an arrester."""
    nominal = find_nominal(parts)
    for item in parts.of("arrester"):
        zone = next(zone for zone in find_zones(parts.items) if item.table.node in zone)
        key, continuous = find_continuous(item.table)
        said = nominal[item.table.node]
        if continuous is not None and continuous < said.kv and not is_earthed(zone, parts):
            yield (f"{item.path}.{key} = {getattr(item.table, key):g}: bears {continuous:g} kV for long, and no "
                   f"neutral of its network is earthed: an earth fault of one phase puts the full {said.kv:g} kV "
                   f"between lines by {said.path} across it")


def is_earthed(zone: list[str], parts: Parts) -> bool:
    """Whether a neutral is earthed in what hangs together without a transformer."""
    sources = any(item.table.earthed for item in parts.of(*SOURCES) if item.ends[0] in zone)
    return sources or any(winding.upper() == "YN" and end in zone for item in parts.of("transformer")
                          for winding, end in zip(split_group(item.table.vector_group)[:2], item.ends))


def warn_breakers(parts: Parts) -> Iterator[str]:
    nominal = find_nominal(parts)
    for item in parts.of("breaker"):
        said = nominal[item.ends[0]]
        if item.table.rated_kv is not None and item.table.rated_kv < said.kv:
            yield f"{item.path}.rated_kv = {item.table.rated_kv:g}: below the {said.kv:g} kV of {said.path}"
        yield from warn_idle(item.path, item.table, breaker.list_idle(item.table), breaker.RACE)


def warn_idle(path: str, table: Read, names: tuple[str, ...], needed: str) -> Iterator[str]:
    """Keys that were written but mean nothing without another."""
    for name in names:
        if name in table.model_fields_set:
            yield f"{path}.{name}: means nothing without {needed} and is left out"


def warn_shots(parts: Parts) -> Iterator[str]:
    """A breaker that is closed already when it is to close at random."""
    shots = parts.single.get("shots")
    if shots is None or shots.at_s is None:
        return
    is_closed = next(item.table.closed for item in parts.of("breaker") if item.name == shots.breaker)
    orders = [item.table for item in parts.of("event") if item.table.target == shots.breaker]
    for order in sorted(orders, key=lambda order: order.at_s):
        if order.at_s < shots.at_s:
            is_closed = order.action == "close"
    if is_closed:
        yield f"shots.at_s = {shots.at_s:g}: {shots.breaker} is closed already then, no closing is seen"
