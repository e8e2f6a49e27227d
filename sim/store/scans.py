"""Frequency scans: one scan, one HDF5 file, readable without this package.

Layout, format version 1::

    /                       attributes: format, format_version, stepout_version, case_name, case_sha256, created_utc,
                            libraries (JSON)
    /case/given             text of the case file
    /case/overrides         the KEY=VALUE pairs that were applied to it
    /case/used              JSON: every value in force with unit, SI value, origin and grade
    /summary                JSON: what `stepout scan --json` prints
    /frequency/positive     frequencies of the positive sequence [Hz]
    /frequency/zero         frequencies of the zero sequence [Hz]
    /impedance/<sequence>/<node>/<other node>
                            voltage of the node over the current driven into the other node [ohm]
    /gain/<source>/<node>   voltage of the node over that behind the source's impedance, positive sequence [pu]
    /resonances/<sequence>/<number>/<cable>
                            voltage along a cable at that resonance of the summary's list, counted from 1 [pu]; its axis
                            is beside it as <cable>_km [km]

Responses are one-dimensional datasets of complex128 (HDF5 compounds of r and i) with the attributes `unit` and
`long_name`; their frequencies, or places along the cable, are attached as an HDF5 dimension scale.
"""

from datetime import UTC, datetime
from importlib import metadata
from pathlib import Path
from typing import Any

import h5py
import numpy as np

from sim.errors import StoreError
from sim.store.jsontext import to_json
from sim.store.outputs import check_file, replace_file
from sim.store.write import BLOCK, LIBRARIES, SMALL, TEXT, escape

FORMAT, FORMAT_VERSION = "stepout-scan", 1


def check_scan_target(path: str | Path) -> None:
    """Make sure that a scan can be written to a path, before anything is computed.

    Raises
    ------
    StoreError
        When it cannot be written, or holds something that is no scan.
    """
    check_file(path)
    path = Path(path)
    if not path.exists() or path.stat().st_size == 0:
        return
    try:
        with h5py.File(path, "r") as file:
            known = file.attrs.get("format") == FORMAT
    except (OSError, RuntimeError):
        known = False
    if not known:
        raise StoreError(f"{path}: there is a file that is no scan; it is left alone",
                         "Give another name for the scan, or remove that file first.")


def write_scan(path: str | Path, found: Any, summary: dict[str, Any]) -> None:
    """Write a scan; the file appears under its name only once it is whole.

    Parameters
    ----------
    path : path
        A scan that is there is replaced.
    found : Scan
        As made by ``sim.studies.scan.study.scan``.
    summary : dict
        As made by ``sim.studies.scan.study.describe_scan``.

    Raises
    ------
    StoreError
        When the file cannot be written; what was there before is then unchanged.
    """
    check_scan_target(path)
    with h5py.File("scan", "w", driver="core", backing_store=False, block_size=BLOCK) as file:
        write_head(file, found.case, summary)
        for response in found.responses.values():
            write_response(file, response)
        write_gains(file, found.responses["positive"], found.setting.network.source_names)
        for name, along in found.profiles.items():
            for number, profiles in enumerate(along, start=1):
                write_profiles(file, f"resonances/{name}/{number}", profiles)
        file.flush()
        image = file.id.get_file_image()
    with replace_file(path) as beside:
        beside.write_bytes(image)


def write_head(file: h5py.File, case: Any, summary: dict[str, Any]) -> None:
    """Attributes, inputs and summary."""
    file.attrs.update({
        "format": FORMAT, "format_version": FORMAT_VERSION, "stepout_version": summary["stepout_version"] or "unknown",
        "case_name": escape(case.name), "case_sha256": case.sha256,
        "created_utc": datetime.now(UTC).isoformat(timespec="seconds"),
        "libraries": to_json({name: metadata.version(name) for name in LIBRARIES})})
    for path, text in (("case/given", case.text), ("case/used", to_json(case.used)), ("summary", to_json(summary))):
        file.create_dataset(path, data=text, dtype=TEXT)
    file.create_dataset("case/overrides", shape=(len(case.overrides),), dtype=TEXT)[:] = [
        escape(override) for override in case.overrides]


def write_response(file: h5py.File, response: Any) -> None:
    """Frequencies and impedances of one sequence."""
    axis = write_axis(file, f"frequency/{response.sequence}", response.frequency, "Hz", "frequency")
    for k, node in enumerate(response.nodes):
        for other, values in zip(response.nodes, response.impedance[:, k].T):
            name = f"impedance/{response.sequence}/{node}/{other}"
            write_complex(file, name, values, "ohm", f"voltage of {node} over the current into {other}", axis)


def write_gains(file: h5py.File, response: Any, sources: tuple) -> None:
    """Voltage transfers from all sources."""
    axis = file[f"frequency/{response.sequence}"]
    for k, source in enumerate(sources):
        for node, values in zip(response.nodes, response.gain[:, k].T):
            told = f"voltage of {node} over that behind the impedance of {source}, both per unit of nominal"
            write_complex(file, f"gain/{source}/{node}", values, "pu", told, axis)


def write_profiles(file: h5py.File, path: str, profiles: list) -> None:
    """Voltage along all cables at one resonance."""
    for profile in profiles:
        axis = write_axis(file, f"{path}/{profile.cable}_km", profile.km, "km", "distance from the near end")
        told = f"voltage along {profile.cable}, of the nominal voltage of its near end"
        write_complex(file, f"{path}/{profile.cable}", profile.voltage, "pu", told, axis)


def write_axis(file: h5py.File, path: str, values: np.ndarray, unit: str, long_name: str) -> h5py.Dataset:
    """A dimension scale."""
    data = file.create_dataset(path, data=values, dtype=np.float64)
    data.attrs.update({"unit": unit, "long_name": long_name})
    data.make_scale(long_name)
    return data


def write_complex(file: h5py.File, path: str, values: np.ndarray, unit: str, long_name: str,
                  axis: h5py.Dataset) -> None:
    """A complex dataset over its axis, compressed unless short."""
    packing = {} if len(values) < SMALL else {"compression": "gzip", "compression_opts": 1, "shuffle": True}
    data = file.create_dataset(path, data=np.ascontiguousarray(values), dtype=np.complex128, **packing)
    data.attrs.update({"unit": unit, "long_name": long_name})
    data.dims[0].attach_scale(axis)
