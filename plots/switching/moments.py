"""What a close-up of a switching shows: the stretch that holds it, the most stressed node, the time.

A node is stressed by a switching when its voltage rises because of it.  Where none rises, the nodes of the
switch itself are looked at.
"""

from dataclasses import dataclass

import numpy as np

from plots.curves.series import find_nodes
from sim.measures.signals.axis import find_source, follow_frequency
from sim.measures.voltages.overvoltage import PHASE_EARTH_CREST

PHASES = "abc"
CYCLES_BEFORE = 1.0
CYCLES_AFTER = 4.0
SEARCH = 0.2             # the peak is looked for this long after the switching [s]
SAME_CREST = 1e-3        # two peaks this close in time are the same crest [s]
SOON = 1e-3              # a stretch that begins this soon after an unforeseen trip still holds it [s]
RISE = 1.05              # a voltage rose when its crest exceeds the one before by this factor
DEAD_PU = 0.01           # share of nominal below which there is nothing to show
LONGEST = 0.25           # a close-up ends at most this long after the switching [s]
LONGEST_CYCLE = 0.1      # of a drive at low frequency, around a switching [s]
MOST_REIGNITIONS = 6     # more than these are counted, not marked one by one


@dataclass(frozen=True)
class Closeup:
    """What one close-up shows: an event, the node with the highest peak after it, and its stretch.

    `peak` is (time [s], phase-to-earth voltage with its sign [V], phase).
    """

    event: object
    node: object
    stretch: object
    peak: tuple


def find_closeup(run, event):
    """The close-up of a switching; None when no waveform stretch holds it or the network was dead."""
    stretch = find_stretch(run, event)
    if stretch is None:
        return None
    peaks = [(node, find_peak(run, stretch, node, event)) for node in run.case.nodes]
    peaks = [(node, peak) for node, peak in peaks if peak is not None]
    if not peaks:
        return None
    node, peak = max(prefer(run, stretch, event, peaks), key=lambda pair: find_stress(*pair))
    return Closeup(event, node, stretch, peak) if find_stress(node, peak) > DEAD_PU else None


def find_stretch(run, event):
    """The waveform stretch that holds an event, None when there is none."""
    return next((stretch for stretch in run.stretches if stretch.engine == "waveform" and len(stretch.t)
                 and stretch.t[0] - SOON <= event.t < stretch.t[-1]), None)


def explain_absence(run, event):
    """Why there is no close-up of an event."""
    if find_stretch(run, event) is None:
        return ("No phase voltages: the waveform engine did not carry this switching. "
                "Peaks after it are not assessed.")
    return f"The network was dead: no voltage above {100 * DEAD_PU:g} % of nominal after this switching."


def find_stress(node, peak):
    """A peak per unit of the crest of the node's nominal voltage to earth."""
    return abs(peak[1]) / (PHASE_EARTH_CREST * node.nominal_v)


def prefer(run, stretch, event, peaks):
    """Nodes whose voltage rose by the switching, else those of the switch itself, else all of them."""
    own = find_nodes(run.case, event.where)
    raised = [pair for pair in peaks if abs(pair[1][1]) > RISE * find_crest_before(run, stretch, pair[0], event)]
    return raised or [pair for pair in peaks if pair[0].name in own] or peaks


def find_cycle(run, node, t):
    """A cycle of what feeds a node at a time [s], a rated one while its source is below 1 Hz or stands still. [s]"""
    frequency = follow_frequency(run, node)(t)
    return 1.0 / (frequency if frequency > 1.0 else find_source(run.case, node)[1])


def find_crest_before(run, stretch, node, event):
    """Crest to earth of a node over the cycle before a switching, 1 pu at least. [V]"""
    first, last = np.searchsorted(stretch.t, [event.t - find_cycle(run, node.name, event.t), event.t])
    volts = [np.abs(stretch.signals[node.name][f"voltage_{phase}"][first:last]) for phase in PHASES]
    return max(float(np.max(volts, initial=0.0)), PHASE_EARTH_CREST * node.nominal_v)


def find_peak(run, stretch, node, event):
    """Time [s], value [V] and phase of the largest phase-to-earth voltage after a switching.

    Stored samples are fewer than solver steps: when the run's own peak of the node fell into this time, its
    value counts.
    """
    signals = stretch.signals.get(node.name, {})
    if any(f"voltage_{phase}" not in signals for phase in PHASES):
        return None
    first, last = np.searchsorted(stretch.t, [event.t, event.t + SEARCH])
    volts = np.array([signals[f"voltage_{phase}"][first:last] for phase in PHASES])
    if not volts.size:
        return None
    k, i = np.unravel_index(np.argmax(np.abs(volts)), volts.shape)
    at, value = float(stretch.t[first + i]), float(volts[k, i])
    return refine_peak(run.peaks.get(node.name), event, at, value, PHASES[k])


def refine_peak(kept, event, at, value, phase):
    """The run's own peak in place of the largest sample, when both are the same crest."""
    if kept is None or kept.phase_earth < abs(value) or kept.phase_earth_time < event.t:
        return at, value, phase
    if abs(kept.phase_earth_time - at) >= SAME_CREST:
        return at, value, phase
    return kept.phase_earth_time, float(np.copysign(kept.phase_earth, value)), phase


def find_window(run, closeup):
    """Start and end of the close-up: a cycle before, some after the last pole and after the peak. [s]"""
    stretch, event = closeup.stretch, closeup.event
    cycle = min(find_cycle(run, closeup.node.name, event.t), LONGEST_CYCLE)
    poles = [pole.t for pole in list_poles(run, event)]
    last = max([event.t, *poles]) + CYCLES_AFTER * cycle
    last = max(last, closeup.peak[0] + cycle)
    return (min(max(stretch.t[0], event.t - CYCLES_BEFORE * cycle), event.t),
            min(stretch.t[-1], last, event.t + max(LONGEST, 6.0 * cycle)))


def list_poles(run, event):
    """Poles that moved because of an event, up to the next event of the same target; a few re-ignitions among them."""
    later = [other.t for other in run.events
             if other.where == event.where and not other.phase and other.t > event.t]
    end = min(later, default=np.inf)
    wanted = ("pole_close",) if event.what == "close" else ("pole_open", "reignition")
    poles = [pole for pole in run.events
             if pole.what in wanted and pole.where == event.where and event.t <= pole.t < end]
    again = sum(pole.what == "reignition" for pole in poles)
    return poles if again <= MOST_REIGNITIONS else keep_last_openings(poles)


def keep_last_openings(poles):
    """The last opening of each pole, without the re-ignitions before it."""
    return list({pole.phase: pole for pole in poles if pole.what == "pole_open"}.values())
