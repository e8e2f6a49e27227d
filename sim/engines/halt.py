"""Why an engine halts before the moment it was asked to reach."""

from typing import NamedTuple


class Halt(NamedTuple):
    """`kind` is "stall" (a drive, at its current limit for too long) or "core" (one passed its flux limit)."""

    kind: str
    index: int
