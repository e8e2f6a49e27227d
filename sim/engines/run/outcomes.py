"""What a run came to: what its last state says about breakaways, peaks, machines, energy and work."""

import numpy as np

from sim.kernels.columns import (
    ENERGY_STEPS,
    PEAK_PHASE,
    SHAFT_FREED,
    SHAFT_LOCKED,
    SHAFT_TORQUE,
    WORK_ACCEPTED,
    WORK_FACTORISATIONS,
    WORK_JACOBIANS,
    WORK_NEWTON,
    WORK_REFUSED,
)
from sim.network.bands import ENOUGH
from sim.network.tables import is_inner
from sim.results.run import ArresterDuty, EnergyBalance, Event, MachineOutcome, Peak

MOVED = ("pole_open", "pole_close", "reignition")
ENERGISED = 0.002       # a machine whose terminals never saw this much of nominal was not energised


def enter_breakaways(result, network, state):
    """Add the breakaways to the log and bring it into order."""
    for m, name in enumerate(network.machine_names):
        if state.shaft[m, SHAFT_FREED] >= 0.0:
            result.events.append(Event(float(state.shaft[m, SHAFT_FREED]), "breakaway", name, f"{name} breaks away",
                                       "torque beyond breakaway", False))
    result.events.sort(key=lambda event: event.t)


def enter_peaks(result, network, peak, given_hz):
    """Peaks of every node of the case, and a warning where the band is too low for some; inner nodes are left out.

    given_hz is the case's own band, None where it follows from the network.
    """
    bands, shown = network.bands, [n for n, name in enumerate(network.node_names) if not is_inner(name)]
    moved = any(event.what in MOVED for event in result.events) or network.tables.drives.pulses.any()
    missed = [n for n in shown if moved and bands.held[n] < ENOUGH * bands.needed[n]]
    result.peaks = {network.node_names[n]: Peak(*map(float, peak[n]), float(bands.needed[n]) if n in missed else 0.0)
                    for n in shown}
    if missed:
        names, khz = ", ".join(network.node_names[n] for n in missed), 1e-3 * bands.needed[missed].max()
        lead = (f"study.bandwidth_khz = {1e-3 * given_hz:g} is too low for what the switching excites there: give "
                f"{khz:.3g}, or leave it out" if given_hz else
                f"what the switching excites there is faster than the highest band taken by itself: "
                f"study.bandwidth_khz = {khz:.3g} would hold it")
        result.warnings.append(f"peaks at {names} are at least what is told: {lead}")


def enter_machines(result, network, state, trips):
    """How each machine ended; `trips` maps a drive to the time and cause of its last trip."""
    result.machines = {name: _outcome(network, state, trips, m) for m, name in enumerate(network.machine_names)}


def _outcome(network, state, trips, m):
    machines = network.tables.machines
    node = machines.node[m]
    feeding = set(np.flatnonzero(network.tables.drives.island == machines.island[m]))
    ended = min((trip for l, trip in trips.items() if l in feeding), default=(None, None))
    return MachineOutcome(
        locked=bool(state.shaft[m, SHAFT_LOCKED]), ever_moved=bool(state.shaft[m, SHAFT_FREED] >= 0.0),
        energised=bool(state.peak[node, PEAK_PHASE] > ENERGISED * np.sqrt(2.0) * network.node_volts[node]),
        available_torque=float(state.shaft[m, SHAFT_TORQUE]), tripped_at=ended[0], trip_reason=ended[1])


def enter_switching(result, network, engine):
    """What the waveform engine kept of poles, arresters and its own steps."""
    result.interruptions = sorted(engine.gear.interruptions, key=lambda one: (one.ordered, one.switch, one.pole))
    links, watch = network.tables.ports.link, engine.watch
    for name in dict.fromkeys(name for name, link in zip(network.port_names, links) if link < 0):
        rows = [p for p, other in enumerate(network.port_names) if other == name]
        amps, volts = watch.port_peak[rows].max(axis=0)
        result.arresters[name] = ArresterDuty(tuple(map(float, watch.taken[rows])), float(amps), float(volts))
    if engine.steps:
        worst = int(np.argmax(watch.chatter))
        result.chatter_steps = int(watch.chatter[worst])
        result.chatter_node = network.node_names[worst] if result.chatter_steps else None


def enter_energy(result, state, stored_change):
    delivered, dissipated, shaft, throughput = map(float, state.energy[:ENERGY_STEPS])
    result.energy = EnergyBalance(delivered, stored_change, dissipated, shaft, throughput)


def enter_work(result, counts, waveform_steps, inverses):
    """Steps and the work behind them; counts come from the envelope kernel."""
    newton, jacobians, factorisations, accepted, refused = (int(counts[k]) for k in (
        WORK_NEWTON, WORK_JACOBIANS, WORK_FACTORISATIONS, WORK_ACCEPTED, WORK_REFUSED))
    result.steps = {"envelope": accepted, "waveform": waveform_steps, "newton": newton, "jacobians": jacobians,
                    "factorisations": factorisations + inverses, "rejected": refused}
