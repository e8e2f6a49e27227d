"""Why an engine halts before the moment it was asked to reach."""

from typing import NamedTuple


class Halt(NamedTuple):
    """`kind` is "drive" (one that has to be told something, `alarm`) or "core" (one passed its flux limit)."""

    kind: str
    index: int
    alarm: int = 0
