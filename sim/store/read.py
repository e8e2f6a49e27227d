"""Reading run files; the layout is that of `sim.store`."""

import json
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any

import h5py
import numpy as np

from sim.errors import StoreError
from sim.results.run import Stretch
from sim.store.closings import read_closings
from sim.store.jsontext import from_exact_json
from sim.store.record import unpack
from sim.store.stored import Lazy, StoredRun, missing_signal
from sim.store.write import FORMAT, FORMAT_VERSION

SIGNATURE = b"\x89HDF\r\n\x1a\n"      # first bytes of every HDF5 file without a user block
DAMAGE = (OSError, RuntimeError, LookupError, ValueError, TypeError, AttributeError)


@dataclass(frozen=True)
class Place:
    """Where a signal lies in a file: its time axis and, by stretch, its samples (start, stop)."""

    axis: str
    spans: dict[int, tuple[int, int]]


def open_run(path: str | Path) -> StoredRun:
    """Open a run file.

    Parameters
    ----------
    path : path

    Returns
    -------
    run : StoredRun
        Signals are read when asked for.  An incomplete run opens like any other and says so (`complete`).

    Raises
    ------
    StoreError
        When the file is missing, not HDF5, not a run, damaged, or of a newer format.
    """
    path = Path(path)
    with open_file(path) as file:
        attrs = {key: to_plain(value) for key, value in file.attrs.items()}
        places, stretches = read_stretches(file, path)
        return StoredRun(
            label=path.stem, name=attrs["case_name"], path=path, attrs=attrs,
            case_text=read_text(file, "case/given"), overrides=tuple(file["case/overrides"].asstr()[()]),
            used=json.loads(read_text(file, "case/used")), summary=json.loads(read_text(file, "summary")),
            stretches=stretches, read=partial(read_signal, path, places), closings=read_closings(file),
            **unpack(from_exact_json(read_text(file, "record"))))


def open_runs(paths: Iterable[str | Path]) -> list[StoredRun]:
    """Open several run files; those that share a file name are labelled by their paths."""
    runs = [open_run(path) for path in paths]
    labels = [run.label for run in runs]
    return [run if labels.count(run.label) == 1 else replace(run, label=str(run.path.with_suffix("")))
            for run in runs]


@contextmanager
def open_file(path: Path) -> Iterator[h5py.File]:
    """An open run file whose format is known; what goes wrong within is a damaged file."""
    check_readable(path)
    try:
        with h5py.File(path, "r") as file:
            check_format(path, file)
            yield file
    except DAMAGE as error:
        raise StoreError(f"{path}: truncated or damaged run file ({str(error).splitlines()[0]})",
                         "Repeat the run, or restore the file from a copy.") from None


def check_readable(path: Path) -> None:
    """Make sure that a file is there, may be read and is HDF5."""
    try:
        with open(path, "rb") as file:
            start = file.read(len(SIGNATURE))
    except OSError as error:
        raise StoreError(f"{path}: cannot be read ({error.strerror or error})",
                         "Check the path of the run file.") from None
    if start != SIGNATURE:
        what = "is not an HDF5 file" if start else "is empty"
        raise StoreError(f"{path}: {what}", "Give a file that `stepout run --out` wrote.")


def check_format(path: Path, file: h5py.File) -> None:
    """Make sure that an HDF5 file is a run of a format that this version reads."""
    if to_plain(file.attrs.get("format")) != FORMAT:
        raise StoreError(f"{path}: is an HDF5 file but not a stepout run",
                         "Give a file that `stepout run --out` wrote.")
    version = int(file.attrs["format_version"])
    if version > FORMAT_VERSION:
        writer = to_plain(file.attrs.get("stepout_version", "a later version"))
        raise StoreError(f"{path}: written in format {version}, this version reads up to {FORMAT_VERSION}",
                         f"Read it with stepout {writer} or later.")


def is_complete_run(path: str | Path) -> bool:
    """Whether a file is a run that reached its end."""
    try:
        with open_file(Path(path)) as file:
            return bool(file.attrs["complete"])
    except StoreError:
        return False


def is_foreign(path: str | Path) -> bool:
    """Whether a file is there and holds something else than a run, damaged ones included."""
    path = Path(path)
    if not path.exists() or path.stat().st_size == 0:
        return False
    try:
        check_readable(path)
        with h5py.File(path, "r") as file:
            return to_plain(file.attrs.get("format")) != FORMAT
    except StoreError:
        return True
    except DAMAGE:
        return False


def read_text(file: h5py.File, path: str) -> str:
    """A text of the file."""
    return file[path].asstr()[()]


def to_plain(value: Any) -> Any:
    """An attribute in plain Python."""
    value = value.tolist() if hasattr(value, "tolist") else value
    return value.decode() if isinstance(value, bytes) else value


def read_stretches(file: h5py.File, path: Path) -> tuple[dict[str, dict[str, Place]], list[Stretch]]:
    """Where every signal lies, and the stretches with signals that are read on first use."""
    t = file["time/all"][()]
    rows = [(row["engine"].decode(), int(row["start"]), int(row["stop"]))
            for row in file["time/stretches"][()]]
    places = find_places(file, [stop - start for _, start, stop in rows])
    return places, [Stretch(engine, t[start:stop], list_lazy(path, places, k))
                    for k, (engine, start, stop) in enumerate(rows)]


def find_places(file: h5py.File, lengths: list[int]) -> dict[str, dict[str, Place]]:
    """Axis and samples of every signal: ``places[name][quantity]``."""
    axes = {}
    for name, axis in file["time"].items():
        if "stretches" in axis.attrs:
            cover = axis.attrs["stretches"].tolist()
            stops = np.cumsum([lengths[k] for k in cover], dtype=int).tolist()
            axes[f"/time/{name}"] = {k: (stop - lengths[k], stop) for k, stop in zip(cover, stops)}
    places = {}
    for name, group in file.get("signals", {}).items():
        attached = {quantity: data.dims[0][0].name for quantity, data in group.items()}
        places[name] = {quantity: Place(axis, axes[axis]) for quantity, axis in attached.items()}
    return places


def list_lazy(path: Path, places: dict[str, dict[str, Place]], k: int) -> dict[str, Lazy]:
    """Signals of stretch number k: ``signals[name][quantity]``."""
    within = {name: {quantity: place.spans[k] for quantity, place in group.items() if k in place.spans}
              for name, group in places.items()}
    return {name: Lazy(list(spans), partial(read_span, path, name, spans))
            for name, spans in within.items() if spans}


def read_span(path: Path, name: str, spans: dict[str, tuple[int, int]], quantity: str) -> np.ndarray:
    """Samples of one signal within one stretch, shape (n,)."""
    with open_file(path) as file:
        return file[f"signals/{name}/{quantity}"][slice(*spans[quantity])]


def read_signal(path: Path, places: dict[str, dict[str, Place]], name: str,
                quantity: str) -> tuple[np.ndarray, np.ndarray]:
    """Time [s] and one signal over all stretches that have it, shapes (n,)."""
    place = places.get(name, {}).get(quantity)
    if place is None:
        raise missing_signal(name, quantity)
    with open_file(path) as file:
        return file[place.axis][()], file[f"signals/{name}/{quantity}"][()]
