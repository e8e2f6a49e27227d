"""Writing a run file; the layout is that of `sim.store`."""

from collections.abc import Iterable
from datetime import UTC, datetime
from importlib import metadata
from pathlib import Path
from typing import Any

import h5py
import numpy as np

from sim.results.run import QUANTITIES, RunResult, Stretch
from sim.store.bases import find_bases
from sim.store.closings import write_closings
from sim.store.jsontext import to_exact_json, to_json
from sim.store.outputs import check_file, replace_file
from sim.store.record import pack

FORMAT, FORMAT_VERSION = "stepout-run", 2
LIBRARIES = ("numpy", "scipy", "numba", "h5py")
SMALL = 1024        # shorter arrays are not worth compressing
BLOCK = 2**22       # by which the file grows in memory [byte]
CHUNK = 65536       # samples; half of HDF5's default chunk cache
TEXT = h5py.string_dtype("utf-8")
STRETCH = np.dtype([("engine", TEXT), ("start", "i8"), ("stop", "i8")])


def write_run(path: str | Path, result: RunResult, summary: dict[str, Any]) -> None:
    """Write a run; the file appears under its name only once it is whole.

    Parameters
    ----------
    path : path
        A file that is there is replaced.
    result : RunResult
        A run with a failure is written with the attribute complete = False.
    summary : dict
        As made by ``sim.measures.summarise``.

    Raises
    ------
    StoreError
        When the file cannot be written; what was there before is then unchanged.
    """
    check_file(path)
    image = build_image(result, summary)
    with replace_file(path) as beside:
        beside.write_bytes(image)


def build_image(result: RunResult, summary: dict[str, Any]) -> bytes:
    """Content of the run file, put together in memory: a full disk is then a plain refusal of one write."""
    with h5py.File("run", "w", driver="core", backing_store=False, block_size=BLOCK) as file:
        write_attributes(file, result, summary)
        write_texts(file, result, summary)
        write_signals(file, result.stretches, find_bases(result.case))
        if result.closings is not None:
            write_closings(file, result.closings, {node.name: node.nominal_v for node in result.case.nodes})
        file.flush()
        return file.id.get_file_image()


def write_attributes(file: h5py.File, result: RunResult, summary: dict[str, Any]) -> None:
    """Attributes of the file as a whole."""
    file.attrs.update({
        "format": FORMAT, "format_version": FORMAT_VERSION,
        "stepout_version": summary.get("stepout_version") or "unknown",
        "case_name": escape(result.case.name), "case_sha256": result.case.sha256,
        "created_utc": datetime.now(UTC).isoformat(timespec="seconds"),
        "verdict": summary["verdict"], "complete": result.failure is None, "failure": result.failure or "",
        "libraries": to_json({name: metadata.version(name) for name in LIBRARIES}),
        "settings": to_json(result.settings)})


def write_texts(file: h5py.File, result: RunResult, summary: dict[str, Any]) -> None:
    """Inputs, summary and record."""
    case = result.case
    for path, text in (("case/given", case.text), ("case/used", to_json(case.used)),
                       ("summary", to_json(summary)), ("record", to_exact_json(pack(result)))):
        file.create_dataset(path, data=text, dtype=TEXT)
    file.create_dataset("case/overrides", shape=(len(case.overrides),), dtype=TEXT)[:] = [
        escape(override) for override in case.overrides]


def escape(text: str) -> str:
    """A text with what UTF-8 cannot hold, as in file names of another encoding, written as \\udcff."""
    return text.encode("utf-8", "backslashreplace").decode()


def write_signals(file: h5py.File, stretches: list[Stretch], bases: dict[tuple[str, str], float]) -> None:
    """Time axes, the table of stretches and all signals on their axes."""
    axes = {}
    whole = tuple(range(len(stretches)))
    find_axis(file, stretches, whole, axes)
    write_stretches(file, stretches)
    for name, quantity in list_signals(stretches):
        cover = tuple(k for k in whole if quantity in stretches[k].signals.get(name, ()))
        parts = [stretches[k].signals[name][quantity] for k in cover]
        data = write_array(file, f"signals/{name}/{quantity}", parts)
        describe(data, *QUANTITIES[quantity], bases.get((name, quantity), np.nan),
                 find_axis(file, stretches, cover, axes))


def list_signals(stretches: list[Stretch]) -> list[tuple[str, str]]:
    """(component or node, quantity) of all signals of a run, each once."""
    return list(dict.fromkeys((name, quantity) for stretch in stretches
                              for name, quantities in stretch.signals.items() for quantity in quantities))


def find_axis(file: h5py.File, stretches: list[Stretch], cover: tuple[int, ...], axes: dict) -> h5py.Dataset:
    """The time axis over some stretches, written when it is first needed."""
    if cover not in axes:
        path = f"time/{name_axis(stretches, cover, len(axes))}"
        data = write_array(file, path, [stretches[k].t for k in cover])
        data.attrs.update({"unit": "s", "long_name": "time", "stretches": np.array(cover, np.int64)})
        data.make_scale("time")
        axes[cover] = data
    return axes[cover]


def name_axis(stretches: list[Stretch], cover: tuple[int, ...], count: int) -> str:
    """Name of the axis over some stretches, of which `count` are already there."""
    if len(cover) == len(stretches):
        return "all"
    waveform = tuple(k for k, stretch in enumerate(stretches) if stretch.engine == "waveform")
    return "waveform" if cover == waveform else f"part_{count - 1:03d}"


def write_stretches(file: h5py.File, stretches: list[Stretch]) -> None:
    """Where each stretch begins and ends on the axis of the whole run."""
    stops = np.cumsum([len(stretch.t) for stretch in stretches], dtype=np.int64)
    rows = [(stretch.engine, stop - len(stretch.t), stop) for stretch, stop in zip(stretches, stops)]
    file.create_dataset("time/stretches", data=np.array(rows, STRETCH), dtype=STRETCH)


def write_array(file: h5py.File, path: str, parts: Iterable[np.ndarray]) -> h5py.Dataset:
    """Parts end to end as one float64 dataset, compressed unless short.

    Signals of a run shrink to about 70 % and time axes to 20 %, at some 30 MB/s; more effort gains nothing
    (measured).  The compressed blocks also carry a checksum.
    """
    values = np.concatenate([np.empty(0), *parts])
    packing = {} if len(values) < SMALL else {"chunks": (min(CHUNK, len(values)),), "shuffle": True,
                                              "compression": "gzip", "compression_opts": 1}
    return file.create_dataset(path, data=values, dtype=np.float64, **packing)


def describe(data: h5py.Dataset, unit: str, long_name: str, base: float, axis: h5py.Dataset) -> None:
    """Attributes and time axis of a signal."""
    data.attrs.update({"unit": unit, "long_name": long_name, "base": base})
    data.dims[0].attach_scale(axis)
