"""Frequency scan of a case: impedances, resonances, and where the harmonics of its drives meet them.

Nothing is integrated: all numbers come from the nodal matrices of the engines' own network.
"""

from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np

from sim.measures.summary import find_version
from sim.network.build import Network, build_network
from sim.phasors.nodal import POSITIVE, ZERO
from sim.studies.scan.crossings import GAIN_LIMIT, ORDERS, Crossing, Fan, find_range, spread_fan
from sim.studies.scan.profile import Profile, find_profiles
from sim.studies.scan.resonances import Resonance, find_resonances
from sim.studies.scan.response import find_response, list_outer
from sim.studies.scan.setting import SEQUENCES, Setting, make_setting
from sim.studies.survey.cables import list_sections
from sim.studies.survey.network import HIGHEST_HZ, LOWEST_HZ
from sim.studies.survey.study import clean


class Scan(NamedTuple):
    """What a scan leaves behind.

    Attributes
    ----------
    case : CheckedCase
    setting : Setting
    lowest_hz, highest_hz : float
        Band of the scan. [Hz]
    responses : dict of str to Response
        "positive" and "zero".
    resonances : dict of str to list of Resonance
    profiles : dict of str to list of list of Profile
        Along all cables, for each resonance: as driven by the source of its island, else the shape of the mode.
    fans : list of Fan
        One for each drive.
    share : float or None
        Harmonic voltage behind a drive's impedance, of the fundamental; None for 1/k. [pu]
    """

    case: Any
    setting: Setting
    lowest_hz: float
    highest_hz: float
    responses: dict
    resonances: dict
    profiles: dict
    fans: list
    share: float | None


def scan(case: Any, slip: float | None = None, orders: Sequence[int] = ORDERS, share: float | None = None) -> Scan:
    """Scan a case over frequency.

    Parameters
    ----------
    case : CheckedCase
    slip : float, optional
        Slip of all machines against the fundamental, 1 at standstill; by default that at their rated speed. [pu]
    orders : sequence of int
        Harmonic orders of the drives; none that three divides.
    share : float, optional
        Harmonic voltage behind a drive's impedance, of the fundamental there; 1/k by default. [pu]

    Returns
    -------
    scan : Scan

    Raises
    ------
    SolveError
        If a cable would need more oscillators than allowed.

    Valid for
    ---------
    Linear iron, arresters open, rotors at constant speed, harmonics that do not depend on the load; switches in their
    first position and drives pulsing.  Transformers keep their resistance at rated frequency and a cable given by
    constants keeps its own: both damp less than the real thing, and gains come out too high.

    Checked by
    ----------
    tests/studies/scan/test_study.py
    """
    network = build_network(case)
    setting = make_setting(case, network, slip)
    low, high = find_span(case, network, orders)
    resonances = {SEQUENCES[row]: find_resonances(setting, low, high, row) for row in (POSITIVE, ZERO)}
    responses = {name: find_response(setting, low, high, SEQUENCES.index(name), list_frequencies(modes))
                 for name, modes in resonances.items()}
    profiles = {name: [follow_mode(case, setting, mode) for mode in modes] for name, modes in resonances.items()}
    fans = [spread_fan(case, setting, drive, responses["positive"], orders, share) for drive in case.drives]
    return Scan(case, setting, low, high, responses, resonances, profiles, fans, share)


def find_span(case: Any, network: Network, orders: Sequence[int]) -> tuple[float, float]:
    """Lowest and highest frequency of a scan: the usual band, wider where the orders of a drive need it, and within
    the band of its cables. [Hz]"""
    ranges = [find_range(case, drive) for drive in case.drives]
    low = min([LOWEST_HZ, *(min(orders) * start for start, _ in ranges)])
    high = max([HIGHEST_HZ, *(max(orders) * end for _, end in ranges)])
    return low, min(high, network.bands.rest)


def list_frequencies(modes: list[Resonance]) -> np.ndarray:
    """Frequencies of some modes. [Hz]"""
    return np.array([mode.frequency_hz for mode in modes])


def follow_mode(case: Any, setting: Setting, mode: Resonance) -> list[Profile]:
    """Voltage along all cables at a resonance."""
    row = SEQUENCES.index(mode.sequence)
    if mode.gain.any():
        return find_profiles(case, setting.network, 1j * mode.s.imag, mode.gain, row)
    return find_profiles(case, setting.network, mode.s, mode.shape, row)


def describe_scan(found: Scan) -> dict[str, Any]:
    """The scan in plain numbers, units in the names."""
    case, network = found.case, found.setting.network
    return {"case": case.name, "case_sha256": case.sha256,
            "stepout_version": find_version(), "title": case.title, "overrides": list(case.overrides),
            "warnings": list(case.warnings), "lowest_hz": found.lowest_hz, "highest_hz": found.highest_hz,
            "slip_pu": {name: float(slip) for name, slip in zip(network.machine_names, found.setting.slip)},
            "open_switches": [name for name, shut in zip(network.switch_names, found.setting.closed) if not shut],
            "constant_cables": [cable.name for cable in case.cables if is_constant(cable)], "gain_limit": GAIN_LIMIT,
            "harmonic_pct": None if found.share is None else 100.0 * found.share,
            "resonances": {name: [describe_resonance(found, mode, along)
                                  for mode, along in zip(modes, found.profiles[name])]
                           for name, modes in found.resonances.items()},
            "drives": {fan.drive: describe_fan(found, fan) for fan in found.fans}}


def is_constant(cable: Any) -> bool:
    """Whether the resistance of any part of a cable is the same at all frequencies."""
    return any(not section.branches for section in list_sections(cable))


def describe_resonance(found: Scan, mode: Resonance, along: list[Profile]) -> dict[str, Any]:
    """One resonance in plain numbers."""
    network, outer = found.setting.network, list_outer(found.setting)
    named = {network.node_names[n]: n for n in outer}
    driven = bool(mode.gain.any())
    return {**clean({"frequency_hz": mode.frequency_hz, "damping_ratio": mode.damping_ratio, "q": mode.quality}),
            "node": max(named, key=lambda name: mode.participation[named[name]]),
            "participation": {name: float(mode.participation[n]) for name, n in named.items()},
            "source": network.source_names[mode.source] if mode.source >= 0 else None,
            "gain": {name: float(abs(mode.gain[n])) for name, n in named.items()} if driven else None,
            "cables": {profile.cable: {"highest_gain" if driven else "highest_of_mode": profile.highest[0],
                                       "at_km": profile.highest[1]} for profile in along}}


def describe_fan(found: Scan, fan: Fan) -> dict[str, Any]:
    """The orders of one drive in plain numbers."""
    return {"from_hz": fan.from_hz, "to_hz": fan.to_hz, "orders": [ray.order for ray in fan.rays],
            "not_assessed": [{"order": order, "above_drive_hz": fan.assessed_hz / order} for order in fan.unassessed],
            "filter_advised": fan.needs_filter,
            "crossings": [describe_crossing(found, fan, crossing) for crossing in fan.crossings]}


def describe_crossing(found: Scan, fan: Fan, crossing: Crossing) -> dict[str, Any]:
    """One crossing in plain numbers."""
    machines = [machine for machine in found.case.machines if machine.node in fan.nodes]
    slips = dict(zip(found.setting.network.machine_names, found.setting.slip))
    rpm = {machine.name: float(120.0 * crossing.drive_hz / machine.motor.poles * (1.0 - slips[machine.name]))
           for machine in machines}
    values = crossing._asdict()
    band = {"gain_above_limit_from_hz": values.pop("from_hz"), "gain_above_limit_to_hz": values.pop("to_hz")}
    return {**values, **band, "speed_rpm": rpm, "exceeds_limit": crossing.exceeds}
