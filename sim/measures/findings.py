"""Everything measured on one run, gathered by machine, node, transformer, cable, drive, breaker, arrester, fault."""

from dataclasses import dataclass, field
from typing import Any

import numpy as np

from sim.measures.signals.axis import (
    CycleAxis,
    cut_cycles,
    find_source,
    follow_frequency,
    join_frequency,
    join_times,
)
from sim.measures.signals.rms import Urms, measure_urms
from sim.measures.starts.acceleration import Start, judge_start
from sim.measures.starts.loading import (
    cable_current,
    drive_current,
    find_settled,
    flux_at_speed,
    flux_before,
    machine_currents,
    peak_flux,
    peak_torque,
    settled_windows,
)
from sim.measures.starts.speed import name_full_speed
from sim.measures.starts.torque import TorqueMargin, measure_torque
from sim.measures.supply import Span, find_spans
from sim.measures.switching.breakers import Operated, measure_breaker
from sim.measures.switching.duty import measure_arrester, measure_capacitor, measure_fault
from sim.measures.switching.openings import measure_openings
from sim.measures.voltages.overvoltage import measure_peaks
from sim.measures.voltages.sag import expected_share, measure_sag, select_windows
from sim.results.run import RunResult


@dataclass(frozen=True)
class Findings:
    """What was measured.

    `motors`, `nodes`, `transformers`, `cables`, `arresters` and `faults` are the summary's entries by name; `starts`
    and `torques` belong to the machines; `flux` holds (while starting, at speed) per transformer [pu],
    `cable_loading` the current at speed over ampacity [%], `drive_loading` the current over rating [%], `operated`
    what the breakers did, `openings` the ranges of those whose gap may re-ignite,
    `capacitor_voltage` the crest across each series capacitor [V].
    """

    motors: dict[str, dict] = field(default_factory=dict)
    nodes: dict[str, dict] = field(default_factory=dict)
    transformers: dict[str, dict] = field(default_factory=dict)
    cables: dict[str, dict] = field(default_factory=dict)
    starts: dict[str, Start] = field(default_factory=dict)
    arresters: dict[str, dict] = field(default_factory=dict)
    faults: dict[str, dict] = field(default_factory=dict)
    operated: dict[str, Operated] = field(default_factory=dict)
    openings: dict[str, dict] = field(default_factory=dict)
    capacitor_voltage: dict[str, float | None] = field(default_factory=dict)
    torques: dict[str, TorqueMargin] = field(default_factory=dict)
    flux: dict[str, tuple[float | None, float | None]] = field(default_factory=dict)
    cable_loading: dict[str, float | None] = field(default_factory=dict)
    drive_loading: dict[str, float | None] = field(default_factory=dict)


@dataclass(frozen=True)
class Feed:
    """How a node was fed: its spans, its drive (None behind grids), rated frequency of its island [Hz], half cycles."""

    spans: list[Span]
    drive: str | None
    rated: float
    axis: CycleAxis


def measure_all(result: RunResult) -> Findings:
    """Measure a run with at least two samples."""
    case, found = result.case, Findings()
    feeds = find_feeds(result)
    for node in case.nodes:
        found.nodes[node.name] = measure_node(result, node, feeds[node.name])
    for machine in case.machines:
        measure_machine(result, machine, feeds[machine.node], found)
    for transformer in case.transformers:
        measure_transformer(result, transformer, feeds[transformer.from_node], found)
    for cable in case.cables:
        measure_cable(result, cable, feeds[cable.from_node], found)
    for drive in case.drives:
        found.drive_loading[drive.name] = scale(drive_current(result, drive))
    measure_switching(result, found)
    return found


def measure_switching(result: RunResult, found: Findings) -> None:
    """Add what breakers, arresters and faults went through."""
    case = result.case
    found.openings.update(measure_openings(result))
    for breaker in case.breakers:
        found.operated[breaker.name] = measure_breaker(result, breaker,
                                                       follow_frequency(result, breaker.from_node))
    for arrester in getattr(case, "arresters", []):
        found.arresters[arrester.name] = measure_arrester(result, arrester)
    for capacitor in getattr(case, "series_capacitors", []):
        found.capacitor_voltage[capacitor.name] = measure_capacitor(result, capacitor)
    for fault in getattr(case, "faults", []):
        found.faults[fault.name] = measure_fault(result, fault, follow_frequency(result, fault.node))


def find_feeds(result: RunResult) -> dict[str, Feed]:
    """Feed of every node; nodes behind one source share one axis."""
    spans, feeds = find_spans(result), {}
    axes: dict[tuple[str | None, float], CycleAxis] = {}
    for node in result.case.nodes:
        source = find_source(result.case, node.name)
        if source not in axes:
            axes[source] = cut_cycles(join_times(result), join_frequency(result, *source))
        feeds[node.name] = Feed(spans[node.name], *source, axes[source])
    return feeds


def scale(share: float | None) -> float | None:
    """Per unit to per cent; None stays None."""
    return None if share is None else 100.0 * share


def measure_node(result: RunResult, node: Any, feed: Feed) -> dict:
    """Summary entry of one node."""
    urms = measure_urms(result, node.name, feed.axis)
    return {"base_kv": node.nominal_v / 1e3, **measure_node_sag(node, feed, urms),
            "max_urms_pu": find_highest(urms, node.nominal_v),
            "max_urms_after_opening_pu": find_highest(urms, node.nominal_v, select_opened(feed)),
            **measure_peaks(result.peaks.get(node.name), node.nominal_v)}


def measure_node_sag(node: Any, feed: Feed, urms: Urms | None) -> dict:
    """Sag of one node under the names of the summary, all None when none of its windows counts."""
    sag = None
    if urms is not None:
        base = node.nominal_v * expected_share(feed.axis, feed.rated, feed.drive is not None)
        sag = measure_sag(urms, feed.axis, select_windows(feed.axis, feed.spans, feed.rated), base)
    if sag is None:
        return dict.fromkeys(("initial_urms_pu", "min_urms_pu", "sag_depth_pct", "sag_duration_s"))
    return {"initial_urms_pu": sag.initial, "min_urms_pu": sag.lowest, "sag_depth_pct": scale(sag.depth),
            "sag_duration_s": sag.duration}


def find_highest(urms: Urms | None, base: float, windows: np.ndarray | None = None) -> float | None:
    """Highest one-cycle RMS over the windows, all of them when None, fed or not, per unit of the base [V]."""
    if urms is None:
        return None
    chosen = urms.highest if windows is None else urms.highest[windows]
    finite = chosen[np.isfinite(chosen)]
    return float(finite.max() / base) if len(finite) else None


def select_opened(feed: Feed) -> np.ndarray:
    """Windows after the supply of a node had opened and before it came back, shape (k - 2,) of bool."""
    axis, chosen = feed.axis, np.zeros(len(feed.axis.starts), dtype=bool)
    returns = [span.start for span in feed.spans[1:]] + [np.inf]
    for span, back in zip(feed.spans, returns):
        if span.ended_by is not None:
            chosen |= (axis.starts >= span.end) & (axis.ends <= back)
    return chosen


def measure_machine(result: RunResult, machine: Any, feed: Feed, found: Findings) -> None:
    """Add the start, the torque and the summary entry of one machine."""
    start = judge_start(result, machine, feed.spans)
    torque = measure_torque(result, machine, start, feed.axis)
    found.starts[machine.name], found.torques[machine.name] = start, torque
    found.motors[machine.name] = describe_motor(result, machine, start, torque, found.nodes[machine.node])


def describe_motor(result: RunResult, machine: Any, start: Start, torque: TorqueMargin, node: dict) -> dict:
    """Summary entry of one machine."""
    motor = machine.motor
    current, crest = machine_currents(result, machine)
    lowest = node["min_urms_pu"]
    return {"outcome": start.outcome,
            "time_to_speed_s": start.time_to_speed,
            "time_to_speed_of": None if start.asked is None else f"95 % of {name_full_speed(motor, start.asked_hz)}",
            "at_speed_rpm": to_rpm(start.at_speed),
            "final_speed_rpm": to_rpm(start.final_speed),
            "final_speed_pct": scale(start.final_share),
            "min_voltage_pu": None if lowest is None else lowest * node["base_kv"] * 1e3 / motor.rated_v,
            "peak_current_pu": current,
            "peak_instantaneous_current_pu": crest,
            "peak_torque_pct": share_of(peak_torque(result, machine), motor.rated_torque_nm),
            "peak_shaft_torque_pct": share_of(peak_torque(result, machine, "shaft_torque"), motor.rated_torque_nm),
            "breakaway_torque_available_pct": share_of(torque.available, torque.breakaway),
            "min_accelerating_torque_pct": share_of(torque.least, motor.rated_torque_nm),
            "min_accelerating_torque_at_pct": scale(torque.least_at),
            "thermal_used_pct": None,
            "trip_reason": start.trip_reason}


def to_rpm(speed: float | None) -> float | None:
    """A speed [rad/s] in rpm; None stays None."""
    return None if speed is None else speed * 30.0 / np.pi


def share_of(value: float | None, base: float | None) -> float | None:
    """A value in per cent of a base; None when either is missing."""
    return None if value is None or base is None else 100.0 * value / base


def measure_transformer(result: RunResult, transformer: Any, feed: Feed, found: Findings) -> None:
    """Add the flux of one transformer."""
    settled = find_settled(list(found.starts.values()), feed.spans)
    windows = settled_windows(feed.axis, settled, feed.spans, feed.rated)
    found.transformers[transformer.name] = {"peak_flux_pu": peak_flux(result, transformer)}
    found.flux[transformer.name] = (flux_before(result, transformer, feed.axis, feed.rated),
                                    flux_at_speed(result, transformer, feed.axis, windows))


def measure_cable(result: RunResult, cable: Any, feed: Feed, found: Findings) -> None:
    """Add the current of one cable."""
    settled = find_settled(list(found.starts.values()), feed.spans)
    windows = settled_windows(feed.axis, settled, feed.spans, feed.rated)
    found.cables[cable.name] = {"max_current_a": cable_current(result, cable, feed.axis)}
    at_speed = cable_current(result, cable, feed.axis, windows)
    found.cable_loading[cable.name] = share_of(at_speed, cable.ampacity_a)
