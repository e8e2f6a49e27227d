"""What a run leaves besides signals, to and from plain tables."""

import re
from dataclasses import asdict
from typing import Any

from sim.results.run import EnergyBalance, Event, MachineOutcome, Peak, RunResult

ORDERED = ("close", "open", "fault", "fault_cleared", "start", "stop", "ramp_down", "speed", "load")
OF_A_POLE = ("pole_open", "pole_close", "bypass", "reignition")
PLAIN = ("steps", "handovers", "warnings", "settings", "timing", "failure")


def pack(result: RunResult) -> dict[str, Any]:
    """Tables of a run, for the dataset /record."""
    return {"events": [asdict(event) for event in result.events],
            "peaks": {name: asdict(peak) for name, peak in result.peaks.items()},
            "machines": {name: asdict(outcome) for name, outcome in result.machines.items()},
            "energy": None if result.energy is None else asdict(result.energy),
            **{name: getattr(result, name) for name in PLAIN}}


def unpack(tables: dict[str, Any]) -> dict[str, Any]:
    """Fields of a run by name, from the tables that `pack` made."""
    energy = tables["energy"]
    return {"events": [Event(**event) for event in read_events(tables)],
            "peaks": {name: Peak(**peak) for name, peak in tables["peaks"].items()},
            "machines": {name: MachineOutcome(**outcome) for name, outcome in tables["machines"].items()},
            "energy": None if energy is None else EnergyBalance(**energy),
            **{name: tables[name] for name in PLAIN}}


def read_events(tables: dict[str, Any]) -> list[dict[str, Any]]:
    """Entries of the log, whatever the format."""
    return tables["events"] if "events" in tables else [name_event(mark) for mark in tables["marks"]]


def name_event(mark: dict[str, Any]) -> dict[str, Any]:
    """An entry of format 1, which told neither cause nor phase, as one of today."""
    what, ordered = mark["kind"], mark["kind"] in ORDERED
    phase = re.search(r"\b(?:pole|phase) ([abc])\b", mark["label"]) if what in OF_A_POLE else None
    return {"t": mark["t"], "what": what, "where": mark["target"], "label": mark["label"], "ordered": ordered,
            "why": "ordered" if ordered else "not told", "phase": phase.group(1) if phase else ""}
