"""Figures of a frequency scan."""

from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np

from sim.cli.drawing.run import save_figures
from sim.results.scan import Along, Curve, Meeting, Ray, Ringing

LEAST = 1e-3        # a cable that sees less of a resonance is not drawn at it [pu]


def draw_scan(found: Any, summary: dict, directory: Path) -> list[Path]:
    """Draw the figures of a scan.

    Parameters
    ----------
    found : Scan
    summary : dict
        As made by ``sim.studies.scan.study.describe_scan``.
    directory : path

    Returns
    -------
    paths : list of Path
        "scan_impedance_<node>.png" of each node, "scan_gain_<source>.png" of each source, "scan_crossings_<drive>.png"
        of each drive and "scan_profile_<cable>.png" of each cable.

    Raises
    ------
    StoreError
        When the figures cannot be written.
    """
    return save_figures(((("scan", *parts), draw) for parts, draw in
                         (*list_impedances(found), *list_gains(found), *list_crossings(found, summary),
                          *list_profiles(found))), directory)


def foot(found: Any) -> tuple[str, str]:
    """Notes at the foot of every figure."""
    return "small voltages, no simulation", f"{found.case.name}  ·  case {found.case.sha256[:10]}"


def list_ringing(found: Any, sequence: str, source: int | None = None) -> list:
    """Resonances of a sequence, or of what one source feeds, for marks."""
    return [Ringing(mode.frequency_hz, mode.quality) for mode in found.resonances[sequence]
            if source is None or mode.source == source]


def list_impedances(found: Any) -> Iterator[tuple[tuple[str, ...], partial]]:
    """Parts of the file name of each node, and what draws it."""
    from plots.frequency.response import draw_impedance

    for k, node in enumerate(found.responses["positive"].nodes):
        curves = [Curve(f"{name} sequence", response.frequency, response.impedance[:, k, k], list_ringing(found, name))
                  for name, response in found.responses.items()]
        yield ("impedance", node), partial(draw_impedance, node, curves, foot=foot(found))


def list_gains(found: Any) -> Iterator[tuple[tuple[str, ...], partial]]:
    """Parts of the file name of each source, and what draws it."""
    from plots.frequency.response import draw_gain

    response, drives = found.responses["positive"], {fan.drive for fan in found.fans}
    for k, source in enumerate(found.setting.network.source_names):
        ringing = list_ringing(found, "positive", k)
        curves = [Curve(node, response.frequency, response.gain[:, k, n], ringing)
                  for n, node in enumerate(response.nodes) if response.gain[:, k, n].any()]
        if curves:
            limit = find_limit() if source in drives else None
            yield ("gain", source), partial(draw_gain, source, curves, limit, foot=foot(found))


def find_limit() -> float:
    """Largest gain left to harmonics."""
    from sim.studies.scan.crossings import GAIN_LIMIT

    return GAIN_LIMIT


def list_crossings(found: Any, summary: dict) -> Iterator[tuple[tuple[str, ...], partial]]:
    """Parts of the file name of each drive, and what draws it."""
    from plots.frequency.orders import draw_crossings

    for fan in found.fans:
        rays = [Ray(ray.order, sorted({(crossing.from_hz, crossing.to_hz) for crossing in fan.crossings
                                       if crossing.order == ray.order and crossing.exceeds})) for ray in fan.rays]
        meetings = [Meeting(crossing.order, crossing.drive_hz, crossing.harmonic_hz, crossing.gain, crossing.peak_pu,
                            crossing.node, crossing.exceeds) for crossing in fan.crossings]
        source = found.setting.network.source_names.index(fan.drive)
        lines = [mode.frequency_hz for mode in found.resonances["positive"] if mode.source == source]
        yield (("crossings", fan.drive),
               partial(draw_crossings, fan.drive, (fan.from_hz, fan.to_hz), rays, lines, meetings, find_limit(),
                       sentence=describe_level(summary), foot=foot(found)))


def describe_level(summary: dict) -> str:
    """How large the harmonics are taken, in a sentence."""
    share = summary["harmonic_pct"]
    level = "1/k of the fundamental (square edges)" if share is None else f"{share:g} % of the fundamental"
    return (f"harmonic voltage behind the drive's impedance: {level}; gain and peak at the node that sees most, the "
            "peak per unit of the crest of nominal voltage with both crests at once")


def list_profiles(found: Any) -> Iterator[tuple[tuple[str, ...], partial]]:
    """Parts of the file name of each cable that rings, and what draws it."""
    from plots.frequency.profiles import draw_profiles

    for k, cable in enumerate(found.case.cables):
        panels = [(f"{name.capitalize()} sequence [1]", along) for name in found.resonances
                  for along in [follow(found, name, k)] if along]
        joints = np.cumsum([section.length_m / 1e3 for section in cable.sections])[:-1]
        if panels:
            yield ("profile", cable.name), partial(draw_profiles, cable.name, panels, list(joints), foot=foot(found))


def follow(found: Any, sequence: str, k: int) -> list:
    """Voltage along a cable at the resonances of a sequence that reach it."""
    return [Along(mode.frequency_hz, profiles[k].km, np.abs(profiles[k].voltage), bool(mode.gain.any()))
            for mode, profiles in zip(found.resonances[sequence], found.profiles[sequence])
            if np.abs(profiles[k].voltage).max() > LEAST]
