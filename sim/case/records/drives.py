"""Drives: their own table, the stretches of the ramp, the direct-voltage link and the front end."""

from collections.abc import Mapping

from sim.case.book.databook import Book
from sim.case.read.validation import Item
from sim.case.voltages import Statement
from sim.components.supply import drive as drives
from sim.components.supply import drive_supply
from sim.components.supply.drive_supply import DcLink
from sim.units import Record, convert


def build_drive(item: Item, nominal: Mapping[str, Statement], frequency: Mapping[str, float], book: Book) -> Record:
    """Record of a drive with `stretches`, `pulses`, `dc_link` and `front_end`, the last three None where it has none.

    Parameters
    ----------
    item : Item
    nominal : mapping of str to Statement
        What sets the nominal voltage of every node.
    frequency : mapping of str to float
        Rated frequency of every node's supply. [Hz]
    book : Book
    """
    table, path = item.table, item.path
    skip = tuple(name for name in drives.list_idle(table) if name not in table.model_fields_set)
    outer = book.enter_table(path, table, table.grade, drives.find_defaults(table), skip)
    stretches = [convert(book.enter_table(f"{path}.stretch[{k}]", stretch, None))
                 for k, stretch in enumerate(table.stretch, start=1)]
    front, link, bridge_kv = None, None, table.rated_kv
    if table.front_end is not None:
        node = table.front_end.node
        filled = drive_supply.find_front_defaults(table.front_end, table.rated_kv, nominal[node].kv)
        values = book.enter_table(f"{path}.front_end", table.front_end, table.grade, filled)
        bridge_kv = values["bridge_kv"]
        front = Record(**vars(convert(values)), frequency_hz=frequency[node])
    pulses = table.pulses and convert(book.enter_table(f"{path}.pulses", table.pulses, table.grade))
    if table.front_end is not None or table.dc_link is not None or pulses:
        filled = drive_supply.find_link_defaults(table.rated_kv, table.rated_kva, table.front_end, bridge_kv)
        link = convert(book.enter_table(f"{path}.dc_link", table.dc_link or DcLink(), table.grade, filled))
    return Record(**vars(convert(outer)), stretches=stretches, pulses=pulses, dc_link=link, front_end=front)
