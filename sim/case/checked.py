"""A case that passed every check, in SI."""

from dataclasses import dataclass

from sim.units import Record


@dataclass(frozen=True)
class CheckedCase:
    """What the engines simulate; every record holds SI values under SI names.

    Attributes
    ----------
    name : str
        Stem of the case file's name.
    text : str
        The case file as given.
    overrides : tuple of str
        The "KEY=VALUE" pairs that were applied.
    sha256 : str
        Hash of text and overrides.
    title : str
    study, criteria : Record
        Criteria keep the units of the case file.
    nodes, grids, drives, transformers, cables, breakers, shunts, machines, events : list of Record
        Nodes stand in the order in which the sources reach them.
    series_reactors, series_capacitors, reactors, arresters, faults : list of Record
        Series and shunt reactors, series capacitors, surge arresters and short circuits; a fault along a cable stands
        at a node of its own.
    shots : Record or None
        Random closings; None where the case has no such table.
    warnings : list of str
        Those of `suspicions` are among them.
    suspicions : tuple of str
        Values that look like a slip of unit or base, each with the value that was likely meant.
    used : dict
        ``used[path]`` = {"value", "unit", "value_si", "unit_si", "origin", "grade", "basis"} for every value,
        under the path and in the unit of the case file; origin is "given", "default" or "derived", and the
        grade is None where a value is no data: absent, or a setting or limit.
    """

    name: str
    text: str
    overrides: tuple[str, ...]
    sha256: str
    title: str
    study: Record
    criteria: Record
    nodes: list[Record]
    grids: list[Record]
    drives: list[Record]
    transformers: list[Record]
    cables: list[Record]
    breakers: list[Record]
    shunts: list[Record]
    series_reactors: list[Record]
    series_capacitors: list[Record]
    reactors: list[Record]
    arresters: list[Record]
    faults: list[Record]
    shots: Record | None
    machines: list[Record]
    events: list[Record]
    warnings: list[str]
    used: dict[str, dict]
    suspicions: tuple[str, ...] = ()
