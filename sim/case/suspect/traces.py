"""Slips of unit and base: how a value that is out of the usual is traced to what was likely meant.

A row names a quantity, the range it usually has, and the slips known to lead out of it.  When the quantity lies
outside, every slip is tried: those that bring it back are proposed.  A value that no slip explains is told all the
same.
"""

from collections.abc import Callable, Iterator, Mapping
from typing import Any, NamedTuple

from sim.case.read.messages import show
from sim.case.read.spellings import Spelling
from sim.units import change_unit, find_symbol, split_key

Values = Mapping[str, Any]      # values of a component by key, in the units of their keys
OPEN = 1e6                      # a range that ends here or above is open upwards
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
    is_relative : bool
        Whether the quantity rests on other components, which may be wrong themselves: it is then told only where a slip
        explains it.
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
    is_relative: bool = False


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


class Suspicion(NamedTuple):
    """A sentence on a component, and the keys that may be wrong."""

    path: str
    keys: frozenset[str]
    text: str


def examine(scene: Scene, spellings: Mapping[str, Spelling]) -> Iterator[Suspicion]:
    """Suspicions on the values of a scene; what rests on a value that is suspected already is left out."""
    suspected: frozenset[str] = frozenset()
    for row in scene.rows:
        quantity = measure(row, scene.values)
        if quantity is None or row.low <= quantity <= row.high or suspected & set(row.needs):
            continue
        proposals = choose(row, scene, spellings)
        alone = frozenset() if row.is_relative else scene.examined & {row.needs[0]}
        keys = frozenset(one.key for one in proposals) or alone
        if keys:
            suspected |= keys
            yield Suspicion(scene.path, keys, tell_suspicion(row, scene, quantity, proposals))


def measure(row: Row, values: Values) -> float | None:
    """The quantity of a row; None when something is not known, or is none at all."""
    if any(values.get(key) is None for key in row.needs):
        return None
    return row.find(values) or None


def choose(row: Row, scene: Scene, spellings: Mapping[str, Spelling]) -> list[Proposal]:
    """Proposals for a row: those that leave no other row of their key out of range, or else all; slips of the decimal
    point only where nothing else explains the value."""
    for tried in (propose(row, scene, spellings), try_decimals(row, scene)):
        found = [one for one in tried if one.key in scene.examined]
        best = [one for one in found if all(is_usual(other, scene.values, one) for other in scene.rows)]
        if found:
            return best or found
    return []


def is_usual(row: Row, values: Values, proposal: Proposal) -> bool:
    """Whether a proposal leaves a row in range, or says nothing about it."""
    quantity = measure(row, {**values, proposal.key: proposal.value}) if proposal.key in row.needs else None
    return quantity is None or row.low <= quantity <= row.high


def propose(row: Row, scene: Scene, spellings: Mapping[str, Spelling]) -> Iterator[Proposal]:
    """Values that bring the quantity of a row back into its range."""
    for key, suffixes in row.units.items():
        if scene.values.get(key) is not None:
            yield from try_units(row, key, suffixes, scene, spellings)
    for slip in row.slips:
        meant = slip.meant(scene.values) if scene.values.get(slip.key) is not None else None
        if meant is not None and fits(row, scene.values, slip.key, meant):
            yield Proposal(slip.key, slip.reading, meant)


def try_decimals(row: Row, scene: Scene) -> Iterator[Proposal]:
    """Values with the decimal point one place to the left or right."""
    for key in row.units:
        for factor in (0.1, 10.0):
            value = scene.values.get(key)
            if isinstance(value, float) and fits(row, scene.values, key, factor * value):
                yield Proposal(key, "a slip of the decimal point", factor * value)


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
    bounds = f"{row.low:g} to {row.high:g}" if row.high < OPEN else f"{row.low:g} and more"
    usual = f"{row.what} {quantity:.3g}{unit}, usually {bounds}{unit} ({row.reason})"
    key = proposals[0].key if proposals else row.needs[0]
    head = f"{scene.path}.{key} = {show(scene.values[key])}"
    if not proposals:
        return f"{head}: looks out of place: {usual}. Check its unit and base."
    readings = " or ".join(dict.fromkeys(one.reading for one in proposals)).replace("or a value in ", "or ")
    meant = " or ".join(dict.fromkeys(f"{one.key.rpartition('.')[2]} = {show(round_value(one.value))}"
                                      for one in proposals))
    return f"{head}: looks like {readings}: {usual}. Did you mean {meant}?"


def round_value(value: Any) -> Any:
    """A proposed value to the digits worth proposing."""
    if isinstance(value, list):
        return [round_value(item) for item in value]
    return value if isinstance(value, int) else float(f"{value:.{DIGITS}g}")
