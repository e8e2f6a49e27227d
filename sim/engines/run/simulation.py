"""What one simulation carries along, and the log of what happened in it."""

from dataclasses import dataclass, field

import numpy as np

from sim.engines.envelope.engine import EnvelopeEngine
from sim.engines.handover import drive_states
from sim.engines.stored import link_energy, stored_energy
from sim.engines.waveform.engine import WaveformEngine
from sim.kernels.columns import MONITOR_CORE, SOURCE_GRID, X_HZ
from sim.kernels.waveform.stage import State
from sim.results.run import Event, RunResult

LEAST_HZ = 0.5          # cycles longer than this one's are not waited for


@dataclass
class Run:
    """Everything that one simulation carries along."""

    case: object
    network: object
    mode: str                   # "auto", "envelope" or "waveform"
    envelope: EnvelopeEngine
    waveform: WaveformEngine
    result: RunResult
    state: object = None
    engine: str = "envelope"
    t: float = 0.0
    started_at: float = 0.0     # stored energy at the start of the run
    quiet_from: float = 0.0     # no operation since
    detail_until: float = 0.0   # phases and pulses are asked for until then
    is_probe: bool = False      # the waveform engine shows a saturated cycle, nothing was switched
    pending: list = field(default_factory=list)
    kinks: list = field(default_factory=list)
    trips: dict = field(default_factory=dict)       # drive -> (time, cause) of its last trip
    causes: dict = field(default_factory=dict)      # switch -> (why, ordered) of its last operation
    last_peak: object = None    # peaks before the envelope engine opened a live switch
    progress: object = None

    @property
    def duration(self):
        return self.case.study.duration_s

    @property
    def energy_now(self):
        """Stored electric and magnetic energy, that of direct-voltage links too. [J]"""
        return stored_energy(self.network, self.state.x) + link_energy(self.network, self.drives)

    @property
    def drives(self):
        """States of all drives in the engine that has the run, shape (D, DRIVE_STATES): a view."""
        return self.state.drive if isinstance(self.state, State) else drive_states(self.network, self.state)

    @property
    def sources_on(self):
        """Whether each source gives voltage, shape (S,) of bool."""
        sources, on = self.network.tables.sources, np.array(self.state.live, dtype=bool)
        driven = sources.kind != SOURCE_GRID
        on[driven] = self.state.drive_on[sources.unit[driven]] == 1
        return on

    @property
    def is_live(self):
        """True when something could happen at a switch: stored energy or a source that is on."""
        return bool(self.sources_on.any()) or self.energy_now > 1e-12 * self.network.power

    @property
    def present_hz(self):
        """Frequency of each island, at least LEAST_HZ: that of its live source, else the rated one, shape (I,). [Hz]"""
        sources, drives = self.network.tables.sources, self.drives
        hz = self.network.tables.islands.w / (2.0 * np.pi)
        for s in np.flatnonzero(self.sources_on):
            if sources.kind[s] != SOURCE_GRID:
                hz[sources.island[s]] = drives[sources.unit[s], X_HZ]
        return np.maximum(hz, LEAST_HZ)

    @property
    def core_limits(self):
        """Flux linkage of each core beyond which the run wants to be told, shape (W,): a copy. [V s]"""
        return self.state.limit[self.network.tables.monitors.kind == MONITOR_CORE]

    @core_limits.setter
    def core_limits(self, limits):
        self.state.limit[self.network.tables.monitors.kind == MONITOR_CORE] = limits

    def record(self, t, what, where, label, why="ordered", ordered=True, phase="", value=None):
        """Enter an event into the log; `what` is a key of `sim.results.run.EVENTS`."""
        self.result.events.append(Event(float(t), what, where, label, why, ordered, phase,
                                        None if value is None else float(value)))
