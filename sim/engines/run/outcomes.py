"""The books of a run: what the last state says about marks, peaks, machines, energy and work."""

import numpy as np

from sim.kernels.columns import SHAFT_FREED, SHAFT_LOCKED, SHAFT_TORQUE
from sim.network.tables import is_inner
from sim.result import ArresterDuty, EnergyBalance, MachineOutcome, Mark, Peak

ENERGISED = 0.002       # a machine whose terminals never saw this much of nominal was not energised


def enter_marks(result, network, state):
    """Add the breakaways and bring all marks into order."""
    for m, name in enumerate(network.machine_names):
        if state.shaft[m, SHAFT_FREED] >= 0.0:
            result.marks.append(Mark(float(state.shaft[m, SHAFT_FREED]), "breakaway", name, f"{name} breaks away"))
    result.marks.sort(key=lambda mark: mark.t)


def enter_peaks(result, network, peak):
    """Peaks of every node of the case; a drive's inner node is left out."""
    result.peaks = {name: Peak(*map(float, peak[n])) for n, name in enumerate(network.node_names)
                    if not is_inner(name)}


def enter_machines(result, network, state, trips):
    """How each machine ended; `trips` maps a drive to the time and cause of its last trip."""
    result.machines = {name: _outcome(network, state, trips, m) for m, name in enumerate(network.machine_names)}


def _outcome(network, state, trips, m):
    sources, machines = network.tables.sources, network.tables.machines
    node = machines.node[m]
    feeding = {l for l, island in zip(sources.drive, sources.island) if island == machines.island[m]}
    ended = min((trip for l, trip in trips.items() if l in feeding), default=(None, None))
    return MachineOutcome(
        locked=bool(state.shaft[m, SHAFT_LOCKED]), ever_moved=bool(state.shaft[m, SHAFT_FREED] >= 0.0),
        energised=bool(state.peak[node, 2] > ENERGISED * np.sqrt(2.0) * network.node_volts[node]),
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
    delivered, dissipated, shaft, throughput = map(float, state.energy[:4])
    result.energy = EnergyBalance(delivered, stored_change, dissipated, shaft, throughput)


def enter_work(result, counts, waveform_steps, inverses):
    """Steps and the work behind them; counts come from the envelope kernel."""
    newton, jacobians, factorisations, accepted, refused = map(int, counts)
    result.steps = {"envelope": accepted, "waveform": waveform_steps, "newton": newton, "jacobians": jacobians,
                    "factorisations": factorisations + inverses, "rejected": refused}
