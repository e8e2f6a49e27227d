"""What a run leaves behind: stretches of signals, a log of events, peaks, energy, quality.

A run is a chain of *stretches*.  Each stretch comes from one engine and keeps its own time axis; a
waveform stretch has phase quantities, an envelope stretch has magnitudes only.
"""

from dataclasses import dataclass, field
from typing import Any

import numpy as np

# quantity -> (unit, long name).  Magnitudes come from the space vector: line-to-line RMS voltage,
# RMS phase current.  They exist in both engines; phase quantities exist in waveform stretches only.
QUANTITIES = {
    "voltage": ("V", "line-to-line RMS voltage (space-vector magnitude)"),
    "voltage_a": ("V", "phase-to-earth voltage, phase a"),
    "voltage_b": ("V", "phase-to-earth voltage, phase b"),
    "voltage_c": ("V", "phase-to-earth voltage, phase c"),
    "voltage_zero": ("V", "displacement of the neutral (a third of the sum of the phase voltages)"),
    "voltage_neutral": ("V", "star point to earth"),
    "voltage_neutral_from": ("V", "star point of the `from` winding to earth"),
    "voltage_neutral_to": ("V", "star point of the `to` winding to earth"),
    "current": ("A", "RMS phase current (space-vector magnitude)"),
    "current_a": ("A", "current, phase a"),
    "current_b": ("A", "current, phase b"),
    "current_c": ("A", "current, phase c"),
    "current_from": ("A", "RMS current into the cable at its `from` end"),
    **{f"current_from_{phase}": ("A", f"current into the `from` winding, phase {phase}") for phase in "abc"},
    "current_to": ("A", "RMS current into the cable at its `to` end"),
    "flux_from": ("1", "flux of the `from` winding, per unit of rated peak flux"),
    "flux_to": ("1", "flux of the `to` winding, per unit of rated peak flux"),
    **{f"flux_{side}_{phase}": ("1", f"flux of the `{side}` winding's limb {phase}, per unit of rated peak flux")
       for side in ("from", "to") for phase in "abc"},
    "voltage_across": ("V", "line-to-line RMS voltage across it (space-vector magnitude)"),
    **{f"voltage_across_{phase}": ("V", f"voltage across it, phase {phase}") for phase in "abc"},
    "speed": ("rad/s", "shaft speed"),
    "torque": ("N m", "air-gap torque"),
    "dc_voltage": ("V", "direct voltage of the link"),
    "front_current": ("A", "RMS current of the front end"),
    "power": ("W", "active power behind the output impedance"),
    "load_torque": ("N m", "torque asked by the driven machine"),
    "load_speed": ("rad/s", "speed of the driven machine at the far end of a shaft that twists"),
    "shaft_torque": ("N m", "torque that the shaft between motor and driven machine carries"),
    "frequency": ("Hz", "output frequency"),
    "emf": ("V", "line-to-line RMS voltage behind the output impedance"),
    "limit_trim": ("1", "share of the voltage withheld by the current limit"),
}


@dataclass(frozen=True)
class Stretch:
    """One engine's continuous piece of a run.

    Attributes
    ----------
    engine : str
        ``"envelope"`` or ``"waveform"``.
    t : ndarray, shape (n,)
        Time, strictly increasing within the stretch. [s]
    signals : dict of dict of ndarray, shape (n,)
        ``signals[component or node][quantity]``; units in `QUANTITIES`.
    """

    engine: str
    t: np.ndarray
    signals: dict[str, dict[str, np.ndarray]]


# what -> what is told by it; `value` and its unit where one is kept
EVENTS = {
    "close": "an order to a breaker to close, or a grid that is switched on",
    "open": "an order to a breaker to open",
    "pole_close": "a pole carries current",
    "pole_open": "a pole interrupted",
    "bypass": "a pole's main contact closes over its resistor or thyristors",
    "reignition": "an open gap breaks down",
    "fault": "a short circuit strikes",
    "fault_cleared": "an order to a short circuit to go out",
    "start": "a drive starts; value: the frequency it is sent to [Hz]",
    "stop": "a drive blocks its pulses",
    "ramp_down": "a drive begins a controlled stop; value: the frequency at which it ends [Hz]",
    "speed": "a drive is sent to another frequency; value: that one [Hz]",
    "load": "the load of a machine steps; value: the new multiplier of its torque [1]",
    "trip": "a protection takes something off",
    "breakaway": "a shaft leaves standstill",
    "catch": "a drive ends its search for a motor that turns",
    "charged": "a drive bridges its charging resistor",
    "front_end": "a front end takes up its work or gives it up",
}


@dataclass(frozen=True)
class Event:
    """Something that happened, as the engines saw it: the log that measures and figures read.

    Attributes
    ----------
    t : float
        [s]
    what : str
        A key of `EVENTS`.
    where : str
        The component.
    label : str
        The event in words, for figures.
    why : str
        Its cause in words: "ordered", or what called for it.
    ordered : bool
        Whether the case asked for it.
    phase : str
        Of a pole, "a", "b" or "c"; else empty.
    value : float or None
        Where `EVENTS` names one.
    """

    t: float
    what: str
    where: str
    label: str
    why: str = "ordered"
    ordered: bool = True
    phase: str = ""
    value: float | None = None


@dataclass(frozen=True)
class Peak:
    """Largest voltages of one node over the run, taken at every solver step (not only stored samples).

    In envelope stretches the space-vector magnitude bounds every phase.  Times in [s], voltages in [V].  A peak is "at
    least" what is told where poles moved and what they excite needs a higher band than the run had: `needed` is then
    that band [Hz], else 0.
    """

    phase_earth: float
    phase_earth_time: float
    phase_phase: float
    phase_phase_time: float
    needed: float = 0.0


@dataclass(frozen=True)
class EnergyBalance:
    """Where the energy of the run went. [J]

    residual = delivered - (stored_change + dissipated + shaft_work); `throughput` is the integral of
    the absolute source power, on which the residual is judged when it exceeds the delivered energy.
    """

    delivered: float
    stored_change: float
    dissipated: float
    shaft_work: float
    throughput: float

    @property
    def residual(self) -> float:
        return self.delivered - self.stored_change - self.dissipated - self.shaft_work

    @property
    def residual_pct(self) -> float:
        base = max(self.throughput, abs(self.delivered), abs(self.stored_change))
        return 100.0 * abs(self.residual) / base if base > 0.0 else 0.0


@dataclass(frozen=True)
class MachineOutcome:
    """How a machine ended, as the engine saw it.

    `locked` is True while the shaft has never left standstill or has stopped again; `available_torque`
    is the largest air-gap torque reached at standstill [N m]; `energised` says whether it saw voltage.
    """

    locked: bool
    ever_moved: bool
    energised: bool
    available_torque: float
    tripped_at: float | None
    trip_reason: str | None


@dataclass(frozen=True)
class Interruption:
    """One breaker pole after an order to open.

    Times in [s], currents in [A], voltages in [V].  `opened` is None when the pole never interrupted; `chopped` is
    the current it cut off, `recovery_peak` the largest voltage across the open pole and `recovery_time` its moment.
    """

    switch: str
    pole: str                   # "a", "b" or "c"
    ordered: float
    separated: float            # contacts part
    opened: float | None
    chopped: float
    recovery_peak: float
    recovery_time: float
    reignitions: int


@dataclass(frozen=True)
class ArresterDuty:
    """What a surge arrester went through: energy of each phase [J], largest current [A] and voltage [V]."""

    energy: tuple[float, float, float]
    peak_current: float
    peak_voltage: float


@dataclass(frozen=True)
class ClosingPeaks:
    """Largest voltages of every node over closings of one breaker at random.

    Attributes
    ----------
    breaker : str
    seed : int
        Of the random numbers.
    count : int
        Closings asked for; more than `numbers` holds when the series was interrupted.
    nodes, cables : tuple of str
        Nodes of the peaks, cables with a charge left.
    numbers : ndarray of int, shape (m,)
        Which closings of the series were done, ascending from 0.
    orders : ndarray, shape (m,)
        When the breaker was ordered to close. [s]
    delays : ndarray, shape (m, 3)
        When poles a, b and c closed, counted from there. [s]
    charges : ndarray, shape (m, cables, 3)
        Of phases a, b and c, per unit of the crest of nominal phase voltage. [1]
    phase_earth, phase_phase : ndarray, shape (m, nodes)
        [V]
    """

    breaker: str
    seed: int
    count: int
    nodes: tuple[str, ...]
    cables: tuple[str, ...]
    numbers: np.ndarray
    orders: np.ndarray
    delays: np.ndarray
    charges: np.ndarray
    phase_earth: np.ndarray
    phase_phase: np.ndarray


@dataclass(frozen=True)
class Held:
    """State that the waveform engine held as a breaker was ordered to open: time [s], State, pole conductances [S]."""

    t: float
    state: Any
    pole_g: np.ndarray


@dataclass(frozen=True)
class OpeningPeaks:
    """What openings of one breaker leave, at moments spread over one period.

    Attributes
    ----------
    breaker : str
    seed : int
        Of the random numbers.
    surge_hz : float
        Of the gap as it strikes. [Hz]
    nodes, arresters : tuple of str
    moments : ndarray, shape (m,)
        When the breaker was ordered to open. [s]
    phase_earth, phase_phase : ndarray, shape (m, nodes)
        Largest voltages. [V]
    reignitions : ndarray of int, shape (m,)
        Of all poles.
    energy : ndarray, shape (m, arresters)
        Of the most loaded phase. [J]
    cut : ndarray of bool, shape (m,)
        Openings that were not followed to their end, for they re-ignited too often.
    reason : str or None
        Why there are no openings.
    """

    breaker: str
    seed: int
    surge_hz: float
    nodes: tuple[str, ...]
    arresters: tuple[str, ...]
    moments: np.ndarray
    phase_earth: np.ndarray
    phase_phase: np.ndarray
    reignitions: np.ndarray
    energy: np.ndarray
    cut: np.ndarray
    reason: str | None = None


@dataclass
class RunResult:
    """Everything a run produced. `case` is the CheckedCase it came from."""

    case: Any
    stretches: list[Stretch] = field(default_factory=list)
    events: list[Event] = field(default_factory=list)
    peaks: dict[str, Peak] = field(default_factory=dict)
    machines: dict[str, MachineOutcome] = field(default_factory=dict)
    energy: EnergyBalance | None = None
    steps: dict[str, int] = field(default_factory=dict)      # envelope, waveform, factorisations, newton, rejected
    handovers: list[dict] = field(default_factory=list)      # {"t_s", "to", "why"}
    warnings: list[str] = field(default_factory=list)
    settings: dict[str, float | str] = field(default_factory=dict)
    timing: dict[str, float] = field(default_factory=dict)   # compile_s, solve_s, total_s
    interruptions: list[Interruption] = field(default_factory=list)
    arresters: dict[str, ArresterDuty] = field(default_factory=dict)
    chatter_steps: int | None = None                         # longest run of alternating steps; None: no waveform
    chatter_node: str | None = None
    failure: str | None = None                               # None when the run reached its end
    closings: ClosingPeaks | None = None                     # closings at random, where they were asked for
    held: dict[str, Held] = field(default_factory=dict)      # by breaker, where its gap's strength is given
    openings: list[OpeningPeaks] = field(default_factory=list)  # of these breakers, at many moments
