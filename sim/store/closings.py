"""Closings at random in a run file: the group /shots, there only where they were asked for.

Layout::

    /shots                       attributes: breaker, seed, count (closings asked for), shots (closings done)
    /shots/number                which closings of the series [1]
    /shots/order                 when the breaker was ordered to close [s]
    /shots/delay                 when poles a, b and c closed, counted from there; a column each [s]
    /shots/charge                charges left on cables, closing by cable by phase [1]; attribute cables
    /shots/peaks/<node>/phase_earth, phase_phase
                                 largest voltages of a node, a value for each closing [V]

Every dataset has the attributes `unit` and `long_name`, peaks a `base` as well: the crest of nominal voltage from
phase to earth and between phases.
"""

from math import sqrt

import h5py
import numpy as np

from sim.results.run import ClosingPeaks

TEXT = h5py.string_dtype("utf-8")
CRESTS = {"phase_earth": sqrt(2.0 / 3.0), "phase_phase": sqrt(2.0)}
LONG_NAMES = {"phase_earth": "largest voltage from phase to earth", "phase_phase": "largest voltage between phases"}


def write_closings(file: h5py.File, peaks: ClosingPeaks, nominal: dict[str, float]) -> None:
    """Write the group; `nominal` is the nominal voltage of every node. [V]"""
    group = file.create_group("shots")
    group.attrs.update({"breaker": peaks.breaker, "seed": peaks.seed, "count": peaks.count,
                        "shots": len(peaks.numbers)})
    for name, values, unit, long_name in (
            ("number", peaks.numbers, "1", "number of the closing within the series of its seed"),
            ("order", peaks.orders, "s", "time of the order to close"),
            ("delay", peaks.delays, "s", "closing of poles a, b, c after the order"),
            ("charge", peaks.charges, "1", "charge left on cables, per unit of the crest of nominal phase voltage")):
        group.create_dataset(name, data=values).attrs.update({"unit": unit, "long_name": long_name})
    group["charge"].attrs.create("cables", list(peaks.cables), shape=(len(peaks.cables),), dtype=TEXT)
    for column, node in enumerate(peaks.nodes):
        for kind, crest in CRESTS.items():
            data = group.create_dataset(f"peaks/{node}/{kind}", data=getattr(peaks, kind)[:, column])
            data.attrs.update({"unit": "V", "long_name": LONG_NAMES[kind], "base": crest * nominal[node]})
    group["peaks"].attrs.create("nodes", list(peaks.nodes), shape=(len(peaks.nodes),), dtype=TEXT)


def read_closings(file: h5py.File) -> ClosingPeaks | None:
    """The closings of an open run file, None where it has none."""
    if "shots" not in file:
        return None
    group = file["shots"]
    nodes = tuple(group["peaks"].attrs["nodes"].tolist())
    count = len(group["number"])
    peaks = {kind: np.array([group[f"peaks/{node}/{kind}"][()] for node in nodes]).reshape(len(nodes), count).T
             for kind in CRESTS}
    return ClosingPeaks(
        breaker=str(group.attrs["breaker"]), seed=int(group.attrs["seed"]), count=int(group.attrs["count"]),
        nodes=nodes, cables=tuple(group["charge"].attrs["cables"].tolist()), numbers=group["number"][()],
        orders=group["order"][()], delays=group["delay"][()], charges=group["charge"][()], **peaks)
