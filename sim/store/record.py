"""What a run leaves besides signals, to and from plain tables."""

from dataclasses import asdict
from typing import Any

from sim.result import EnergyBalance, MachineOutcome, Mark, Peak, RunResult

PLAIN = ("steps", "handovers", "warnings", "settings", "timing", "failure")


def pack(result: RunResult) -> dict[str, Any]:
    """Tables of a run, for the dataset /record."""
    return {"marks": [asdict(mark) for mark in result.marks],
            "peaks": {name: asdict(peak) for name, peak in result.peaks.items()},
            "machines": {name: asdict(outcome) for name, outcome in result.machines.items()},
            "energy": None if result.energy is None else asdict(result.energy),
            **{name: getattr(result, name) for name in PLAIN}}


def unpack(tables: dict[str, Any]) -> dict[str, Any]:
    """Fields of a run by name, from the tables that `pack` made."""
    energy = tables["energy"]
    return {"marks": [Mark(**mark) for mark in tables["marks"]],
            "peaks": {name: Peak(**peak) for name, peak in tables["peaks"].items()},
            "machines": {name: MachineOutcome(**outcome) for name, outcome in tables["machines"].items()},
            "energy": None if energy is None else EnergyBalance(**energy),
            **{name: tables[name] for name in PLAIN}}
