"""A run as figures, comparisons and reports see it, from a file or straight from the engines."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property, partial
from pathlib import Path
from typing import Any

import numpy as np

from sim.case import parse_case
from sim.results.run import ClosingPeaks, EnergyBalance, Event, MachineOutcome, Peak, RunResult, Stretch
from sim.store.record import PLAIN

Read = Callable[[str, str], tuple[np.ndarray, np.ndarray]]


class Lazy(Mapping):
    """A mapping whose values are read when they are first asked for."""

    def __init__(self, keys: list[str], load: Callable[[str], Any]):
        self.known, self.load = dict.fromkeys(keys), load

    def __getitem__(self, key: str) -> Any:
        if self.known[key] is None:
            self.known[key] = self.load(key)
        return self.known[key]

    def __contains__(self, key: object) -> bool:
        return key in self.known

    def __iter__(self):
        return iter(self.known)

    def __len__(self) -> int:
        return len(self.known)


@dataclass(frozen=True, eq=False)
class StoredRun:
    """One run: its inputs, its summary and its signals.

    Attributes
    ----------
    label : str
        Short name for legends and tables.
    name : str
        Name of the case.
    case_text : str
        The case file as given.
    overrides : tuple of str
        The KEY=VALUE pairs that were applied to it.
    used : dict
        Every value in force, as in ``CheckedCase.used``.
    summary : dict
    stretches : list of Stretch
        Signals of a stored run are read on first use.
    read : callable
        Behind `signal`.
    path : Path or None
        None for a run that is not stored.
    attrs : dict
        Attributes of the file, empty for a run that is not stored.
    given_case : CheckedCase or None
        Known for a run that is not stored.

    The other attributes are those of `sim.results.run.RunResult`.
    """

    label: str
    name: str
    case_text: str
    overrides: tuple[str, ...]
    used: dict[str, dict]
    summary: dict[str, Any]
    stretches: list[Stretch]
    read: Read
    path: Path | None = None
    attrs: dict[str, Any] = field(default_factory=dict)
    events: list[Event] = field(default_factory=list)
    peaks: dict[str, Peak] = field(default_factory=dict)
    machines: dict[str, MachineOutcome] = field(default_factory=dict)
    energy: EnergyBalance | None = None
    steps: dict[str, int] = field(default_factory=dict)
    handovers: list[dict] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)
    settings: dict[str, float | str] = field(default_factory=dict)
    timing: dict[str, float] = field(default_factory=dict)
    failure: str | None = None
    closings: ClosingPeaks | None = None
    given_case: Any = None

    @property
    def complete(self) -> bool:
        """Whether the run reached its end."""
        return self.failure is None

    @cached_property
    def case(self) -> Any:
        """The checked case; that of a stored run is checked anew from its text.

        Raises
        ------
        CaseError
            When this version no longer accepts the stored case.
        """
        return self.given_case or parse_case(self.case_text, self.overrides, self.name)

    def signal(self, name: str, quantity: str) -> tuple[np.ndarray, np.ndarray]:
        """One signal over all stretches that have it.

        Parameters
        ----------
        name : str
            Component or node.
        quantity : str
            A key of `sim.results.run.QUANTITIES`.

        Returns
        -------
        t, y : ndarray, shape (n,)
            Time [s] and the signal in its unit; phase quantities cover the waveform stretches only.

        Raises
        ------
        KeyError
            When the run holds no such signal.
        StoreError
            When the file can no longer be read.
        """
        return self.read(name, quantity)


def stored_from_result(result: RunResult, summary: dict[str, Any]) -> StoredRun:
    """The same face for a run that is still in memory."""
    case = result.case
    return StoredRun(
        label=case.name, name=case.name, case_text=case.text, overrides=tuple(case.overrides), used=case.used,
        summary=summary, stretches=result.stretches, read=partial(join_signal, result.stretches),
        events=result.events, peaks=result.peaks, machines=result.machines, energy=result.energy,
        closings=result.closings, given_case=case, **{name: getattr(result, name) for name in PLAIN})


def join_signal(stretches: list[Stretch], name: str, quantity: str) -> tuple[np.ndarray, np.ndarray]:
    """Time [s] and one signal over all stretches that have it, shapes (n,)."""
    parts = [(stretch.t, stretch.signals[name][quantity]) for stretch in stretches
             if quantity in stretch.signals.get(name, ())]
    if not parts:
        raise missing_signal(name, quantity)
    return tuple(np.concatenate(column) for column in zip(*parts))


def missing_signal(name: str, quantity: str) -> KeyError:
    """What to raise when a run does not hold a signal."""
    return KeyError(f"{name}.{quantity}: the run holds no such signal")
