"""Slips of unit and base: how a value that is out of the usual is traced to what was likely meant.

A row names a quantity, the range it usually has, and the slips known to lead out of it.  When the quantity lies
outside, every slip is tried: those that bring it back are proposed.  A value that no slip explains is told all the
same.
"""

from collections.abc import Callable, Iterator, Mapping
from typing import Any, NamedTuple

from sim.case.faults import show
from sim.case.spellings import Spelling
from sim.units import change_unit, find_symbol, split_key

Values = Mapping[str, Any]      # values of a component by key, in the units of their keys
DIGITS = 4                      # of a proposed value


class Slip(NamedTuple):
    """A way to get a value wrong: the key, what it "looks like", and what was meant then (None when it cannot be)."""

    key: str
    reading: str
    meant: Callable[[Values], float | None]


class Row(NamedTuple):
    """A quantity with its usual range.

    Attributes
    ----------
    what, unit : str
        The quantity in words, and its unit.
    low, high : float
        Usual range, ends included.
    reason : str
        Where the range comes from.
    needs : tuple of str
        Keys that must be known.  Where no slip explains it, the first is named in the sentence.
    find : callable
        The quantity from the values; None where it means nothing.  Zero stands for "none" and is never suspect.
    units : mapping of str to tuple of str
        For keys that may have been typed in another unit, the suffixes of these units.
    slips : tuple of Slip
        All other slips.
    """

    what: str
    unit: str
    low: float
    high: float
    reason: str
    needs: tuple[str, ...]
    find: Callable[[Values], float | None]
    units: Mapping[str, tuple[str, ...]] = {}
    slips: tuple[Slip, ...] = ()


class Scene(NamedTuple):
    """A component or section: its path, its values with what its surroundings say, the keys to examine, its rows."""

    path: str
    values: Values
    examined: frozenset[str]
    rows: tuple[Row, ...]


class Proposal(NamedTuple):
    """What a key looks like and the value that was likely meant."""

    key: str
    reading: str
    value: float


def examine(scene: Scene, spellings: Mapping[str, Spelling]) -> Iterator[str]:
    """Sentences on the values of a scene that are out of the usual; no key is suspected twice."""
    suspected: set[str] = set()
    for row in scene.rows:
        quantity = measure(row, scene.values)
        if quantity is None or row.low <= quantity <= row.high:
            continue
        proposals = [one for one in propose(row, scene, spellings) if one.key in scene.examined]
        keys = {one.key for one in proposals} or {row.needs[0]} & scene.examined
        if keys and not keys & suspected:
            suspected |= keys
            yield tell_suspicion(row, scene, quantity, proposals)


def measure(row: Row, values: Values) -> float | None:
    """The quantity of a row; None when something is not known, or is none at all."""
    if any(values.get(key) is None for key in row.needs):
        return None
    return row.find(values) or None


def propose(row: Row, scene: Scene, spellings: Mapping[str, Spelling]) -> Iterator[Proposal]:
    """Values that bring the quantity of a row back into its range."""
    for key, suffixes in row.units.items():
        if scene.values.get(key) is not None:
            yield from try_units(row, key, suffixes, scene, spellings)
    for slip in row.slips:
        meant = slip.meant(scene.values) if scene.values.get(slip.key) is not None else None
        if meant is not None and fits(row, scene.values, slip.key, meant):
            yield Proposal(slip.key, slip.reading, meant)


def try_units(row: Row, key: str, suffixes: tuple[str, ...], scene: Scene,
              spellings: Mapping[str, Spelling]) -> Iterator[Proposal]:
    """Readings of the number as it stands in the file in units other than the one written there."""
    own = key.rpartition(".")[2]
    said = spellings.get(f"{scene.path}.{key}")
    written, number = (said.key, said.value) if said else (own, scene.values[key])
    stem = split_key(own)[0]
    for other in dict.fromkeys((own, *(f"{stem}_{suffix}" for suffix in suffixes))):
        meant = change_unit(number, other, own)
        if other != written and fits(row, scene.values, key, meant):
            yield Proposal(key, f"a value in {find_symbol(other)}", meant)


def fits(row: Row, values: Values, key: str, meant: Any) -> bool:
    """Whether a value brings the quantity of a row into its range."""
    quantity = measure(row, {**values, key: meant})
    return quantity is not None and row.low <= quantity <= row.high


def tell_suspicion(row: Row, scene: Scene, quantity: float, proposals: list[Proposal]) -> str:
    """Sentence of one suspicion."""
    unit = f" {row.unit}" if row.unit else ""
    usual = f"{row.what} {quantity:.3g}{unit}, usually {row.low:g} to {row.high:g}{unit} ({row.reason})"
    key = proposals[0].key if proposals else row.needs[0]
    head = f"{scene.path}.{key} = {show(scene.values[key])}"
    if not proposals:
        return f"{head}: looks out of place: {usual}. Check its unit and base."
    readings = " or ".join(dict.fromkeys(one.reading for one in proposals))
    meant = " or ".join(dict.fromkeys(f"{one.key.rpartition('.')[2]} = {show(round_value(one.value))}"
                                      for one in proposals))
    return f"{head}: looks like {readings}: {usual}. Did you mean {meant}?"


def round_value(value: Any) -> Any:
    """A proposed value to the digits worth proposing."""
    if isinstance(value, list):
        return [round_value(item) for item in value]
    return value if isinstance(value, int) else float(f"{value:.{DIGITS}g}")
