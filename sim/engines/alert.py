"""What a monitor told: why an engine halts before the moment it was asked to reach."""

from typing import Any, NamedTuple


class Alert(NamedTuple):
    """`kind` and `item` are those of a row of `sim.network.tables.Monitors`, `code` is what it tells."""

    kind: int
    item: int
    code: int

    @classmethod
    def of(cls, monitors: Any, row: int, code: int) -> "Alert":
        """Alert of a row of the monitors."""
        return cls(int(monitors.kind[row]), int(monitors.item[row]), int(code))
