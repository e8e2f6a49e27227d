"""What one simulation carries along, and the marks it leaves."""

from dataclasses import dataclass, field

from sim.engines.envelope.engine import EnvelopeEngine
from sim.engines.handover import drive_states, link_energy, stored_energy
from sim.engines.waveform.engine import WaveformEngine
from sim.kernels.waveform.stage import State
from sim.result import Mark, RunResult


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
    started_at: float = 0.0     # stored energy and clock at the start of the run
    quiet_from: float = 0.0     # no operation since
    detail_until: float = 0.0   # phases and pulses are asked for until then
    is_probe: bool = False      # the waveform engine shows a saturated cycle, nothing was switched
    machine_amps: object = None  # rated currents as space vectors [A]
    pending: list = field(default_factory=list)
    kinks: list = field(default_factory=list)
    trips: dict = field(default_factory=dict)
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
    def is_live(self):
        """True when something could happen at a switch: stored energy or a source that is on."""
        sources = self.network.tables.sources.drive
        on = any((self.state.drive_on[l] if l >= 0 else self.state.live[s]) for s, l in enumerate(sources))
        return bool(on) or self.energy_now > 1e-12 * self.network.power

    def mark(self, t, kind, target, label):
        self.result.marks.append(Mark(float(t), kind, target, label))
