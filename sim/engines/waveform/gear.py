"""The gear of breakers and faults: when each pole moves, how its contact closes, what came of an order to open."""

import heapq
from dataclasses import dataclass, field, replace

import numpy as np

from sim.kernels.elements.poles import RECOVERY_PEAK, RECOVERY_TIME
from sim.results.run import Interruption

OPEN_G = 0.0                # an open pole
# A closing pole's resistance sweeps geometrically over this range in as many steps, so that the front it
# launches rises within about a third of the bandwidth's period: steeper ones the cables could not carry
# without overshoot (tests/physics/waves/test_fronts.py).
CLOSING_OHM = (1e4, 1e-1)
CLOSING_STEPS = 48
STRIKE_STEPS = 12           # a gap that strikes is bridged at once: a twentieth of its surge's period at its finer step
CLOSING_CENTRE = 0.46       # share of the sweep at which the pole passes a cable's surge impedance
# pulses come 60 degrees apart, two poles have to be fired at once; a train ends clear of the voltage's zero
LEAST_GATE, CLEAR = np.radians(62.0), np.radians(5.0)
PHASES = "abc"


def closing_advance(step):
    """How long before its order a pole begins to close, so that the middle of its front is on time. [s]"""
    return CLOSING_CENTRE * CLOSING_STEPS * step


@dataclass(frozen=True)
class Timing:
    """How the poles of one switch move, from its record.

    Delays in [s] for each pole; `angle` is the point on wave of pole a [rad] or None; the insertion resistor [ohm]
    stays in for so long [s], 0 without one; `soft` is the record of a soft starter or None.
    """

    closing: tuple = (0.0, 0.0, 0.0)
    opening: tuple = (0.0, 0.0, 0.0)
    angle: float | None = None
    resistor: float = 0.0
    inserted: float = 0.0
    soft: object = None


def read_timing(breaker):
    """Timing of a breaker's record."""
    return Timing(tuple(breaker.closing_delays_s), tuple(breaker.opening_delays_s), breaker.closing_angle_rad,
                  breaker.insertion_ohm or 0.0, breaker.insertion_s or 0.0, getattr(breaker, "soft_start", None))


@dataclass
class Sweep:
    """A contact that closes: its conductance runs from `low` to `high` [S] in so many `steps`, then is `final`.

    A level lasts for `hold` steps.  `waits` is True of an arc that struck: once it burns it waits for its current zero
    again.
    """

    low: float
    high: float
    final: float
    hold: int = 1
    waits: bool = False
    taken: int = 0
    steps: int = CLOSING_STEPS

    @property
    def is_done(self):
        return self.taken >= self.steps * self.hold

    def conductance(self):
        if self.is_done:
            return self.final
        return self.low * (self.high / self.low) ** (self.taken // self.hold / self.steps)


@dataclass
class Attempt:
    """An order to open one pole, as it goes."""

    ordered: float
    separated: float
    opened: float | None = None
    chopped: float = 0.0
    reignitions: int = 0


@dataclass
class Gear:
    """Position, contacts and agenda of every pole.

    Parameters
    ----------
    network : Network
    timings : dict of int to Timing
        By switch; a switch without one moves its poles together.
    step : float
        Step with which contacts close. [s]
    levels : ndarray, shape (Q,), optional
        How long each level of a closing contact lasts, a whole number of steps; one step by default. [s]
    """

    network: object
    timings: dict
    step: float
    levels: np.ndarray = None
    pole_g: np.ndarray = None
    sweeps: dict = field(default_factory=dict)          # (switch, phase) -> Sweep
    agenda: list = field(default_factory=list)          # heap of (time, number, action, switch, phase, time of order)
    attempts: dict = field(default_factory=dict)        # (switch, phase) -> Attempt
    moved: list = field(default_factory=list)           # (time, key of EVENTS, switch, phase)
    interruptions: list = field(default_factory=list)
    number: int = 0
    gates: dict = field(default_factory=dict)           # (switch, phase) -> length of the present gate pulse [s]

    def __post_init__(self):
        self.place(self.network.closed)
        if self.levels is None:
            self.levels = np.full(len(self.network.switch_names), self.step)

    @property
    def lead(self):
        """How long before its order the slowest contact begins to close. [s]"""
        return closing_advance(self.levels.max(initial=self.step))

    def place(self, closed):
        """Put all poles where their switch is, without a transient."""
        g = np.where(np.asarray(closed, dtype=bool), self.network.tables.switches.g, OPEN_G)
        self.pole_g = np.ascontiguousarray(np.repeat(g[:, None], 3, axis=1).reshape(-1, 3))

    def is_firing(self, switch):
        """Whether a soft starter is on its ramp: its poles open and close in every half cycle."""
        return any(item[2] in ("fire", "rest") and item[3] == switch for item in self.agenda)

    def is_closing(self):
        """Whether a contact closes that is not a soft starter's."""
        return any(not self.is_firing(switch) for switch, _ in self.sweeps)

    def is_moving(self):
        return bool(self.sweeps or self.agenda)

    def next_time(self):
        return self.agenda[0][0] if self.agenda else np.inf

    def order_close(self, switch, t, wait=None, delays=None):
        """Close the poles of a switch after `wait` and each pole's own delay. [s]

        Without a wait the middle of its front comes `lead` after t.  Those of a soft starter begin to fire: `wait` is
        the time to the rising zero of the voltage of phase a.
        """
        if wait is None:
            wait = self.lead - closing_advance(self.levels[switch])
        timing = self.timings.get(switch, Timing())
        if timing.soft:
            for phase in range(3):
                delay = (timing.soft.start_angle_rad + 2.0 * np.pi * phase / 3.0) % np.pi
                self._plan(t + wait + delay / self.network.switch_w[switch], "fire", switch, phase, t)
            return
        for phase in self._phases(switch):
            self._plan(t + wait + (delays or timing.closing)[phase], "close", switch, phase, t)

    def order_open(self, switch, t):
        """Part the contacts of a switch after each pole's own delay."""
        timing = self.timings.get(switch, Timing())
        self.agenda = [item for item in self.agenda if item[3] != switch]
        heapq.heapify(self.agenda)
        for phase in self._phases(switch):
            self._plan(t + timing.opening[phase], "part", switch, phase, t)

    def _firing_angle(self, switch, t, ordered):
        """Firing angle of a soft starter at a moment. [rad]"""
        soft = self.timings[switch].soft
        share = min(max((t - ordered) / soft.ramp_s, 0.0), 1.0)
        return soft.start_angle_rad + share * (soft.end_angle_rad - soft.start_angle_rad)

    def _fire(self, state, watch, switch, phase, t, step, ordered):
        """A gate pulse: the pole conducts, or goes on conducting past its next zero; after the ramp for good."""
        state.opening[switch, phase] = 0
        if self.pole_g[switch, phase] == OPEN_G:
            self.sweeps[switch, phase] = self._sweep(switch, step)
        soft = self.timings[switch].soft
        if t < ordered + np.pi / self.network.switch_w[switch]:
            self.moved.append((t, "pole_close", switch, phase))
        if t >= ordered + soft.ramp_s:
            self.moved.append((t, "bypass", switch, phase))
            return
        angle = self._firing_angle(switch, t, ordered)
        train = soft.gate_rad or max(np.pi - CLEAR - angle, LEAST_GATE)
        self.gates[switch, phase] = train / self.network.switch_w[switch]
        self._plan(t + self.gates[switch, phase], "rest", switch, phase, ordered)

    def _rest(self, state, watch, switch, phase, t, step, ordered):
        """The gate pulse ends: the pole blocks at its next zero, and the next pulse is planned."""
        if self.pole_g[switch, phase] > OPEN_G and (switch, phase) not in self.sweeps:
            state.opening[switch, phase] = 1
        elif (switch, phase) in self.sweeps:
            self.sweeps[switch, phase].waits = True
        w = self.network.switch_w[switch]
        fired = t - self.gates[switch, phase]
        later = self._firing_angle(switch, fired + np.pi / w, ordered) - self._firing_angle(switch, fired, ordered)
        self._plan(fired + (np.pi + later) / w, "fire", switch, phase, ordered)

    def _phases(self, switch):
        return [PHASES.index(letter) for letter in self.network.phases[switch]]

    def _plan(self, t, action, switch, phase, ordered):
        heapq.heappush(self.agenda, (t, self.number, action, switch, phase, ordered))
        self.number += 1

    def act(self, state, watch, t, step):
        """Carry out what is due."""
        while self.agenda and self.agenda[0][0] <= t + 1e-3 * step:
            _, _, action, switch, phase, ordered = heapq.heappop(self.agenda)
            getattr(self, f"_{action}")(state, watch, switch, phase, t, step, ordered)

    def _close(self, state, watch, switch, phase, t, step, ordered):
        """The contact, or the resistor before it, begins to close; an order to open that still waits is called off."""
        state.opening[switch, phase] = 0
        self._conclude(watch, switch, phase)
        if self.pole_g[switch, phase] > OPEN_G:
            return
        timing = self.timings.get(switch, Timing())
        self.sweeps[switch, phase] = self._sweep(switch, step, timing.resistor)
        self.moved.append((t + closing_advance(self.levels[switch]), "pole_close", switch, phase))
        if timing.resistor:
            self._plan(t + timing.inserted, "bypass", switch, phase, ordered)

    def _sweep(self, switch, step, resistor=0.0):
        final = 1.0 / resistor if resistor else self.network.tables.switches.g[switch]
        return Sweep(1.0 / CLOSING_OHM[0], min(final, 1.0 / CLOSING_OHM[1]), final, self._hold(switch, step))

    def _hold(self, switch, step):
        """Steps of one level of a closing contact."""
        return max(1, round(self.levels[switch] / step))

    def _bypass(self, state, watch, switch, phase, t, step, ordered):
        """The main contact closes over the resistor."""
        if self.pole_g[switch, phase] > OPEN_G:
            final = self.network.tables.switches.g[switch]
            self.sweeps[switch, phase] = Sweep(self.pole_g[switch, phase], min(final, 1.0 / CLOSING_OHM[1]), final,
                                               self._hold(switch, step))

    def _part(self, state, watch, switch, phase, t, step, ordered):
        """The contacts part; the pole waits for its current zero."""
        self.sweeps.pop((switch, phase), None)
        if self.pole_g[switch, phase] == OPEN_G:
            return
        self._conclude(watch, switch, phase)
        self.attempts[switch, phase] = Attempt(ordered, t)
        state.opening[switch, phase] = 1

    def interrupt(self, state, watch, switch, phase, t, amps):
        """The pole's current is gone."""
        self.pole_g[switch, phase] = OPEN_G
        self.sweeps.pop((switch, phase), None)
        state.opening[switch, phase] = 0
        if self.is_firing(switch):
            return
        attempt = self.attempts.setdefault((switch, phase), Attempt(t, t))
        attempt.opened, attempt.chopped = t, abs(amps)
        watch.separated[switch, phase] = attempt.separated
        self.moved.append((t, "pole_open", switch, phase))

    def reignite(self, state, switch, phase, t, steps=CLOSING_STEPS):
        """The gap breaks down; the pole carries current again until it finds a zero that it can quench."""
        self.attempts[switch, phase].reignitions += 1
        sweep = self._sweep(switch, self.step)
        hold = sweep.hold if steps == CLOSING_STEPS else 1
        self.sweeps[switch, phase] = replace(sweep, waits=True, steps=steps, hold=hold)
        self.pole_g[switch, phase] = self.sweeps[switch, phase].conductance()
        self.moved.append((t, "reignition", switch, phase))

    def set_contacts(self, state):
        """Conductance of all contacts that close, for the step ahead."""
        for key, sweep in list(self.sweeps.items()):
            self.pole_g[key] = sweep.conductance()
            if sweep.is_done:
                state.opening[key] = int(sweep.waits)
                del self.sweeps[key]

    def steps_ahead(self):
        """Steps until the next contact changes."""
        return min(sweep.hold - sweep.taken % sweep.hold for sweep in self.sweeps.values())

    def step_contacts(self, taken):
        for sweep in self.sweeps.values():
            sweep.taken += taken

    def conclude(self, watch):
        """End of the run: enter what still is open."""
        for switch, phase in sorted(self.attempts):
            self._conclude(watch, switch, phase)

    def _conclude(self, watch, switch, phase):
        attempt = self.attempts.pop((switch, phase), None)
        if attempt is None:
            return
        peak, at = (float(watch.recovery[switch, phase, k]) for k in (RECOVERY_PEAK, RECOVERY_TIME))
        watch.recovery[switch, phase], watch.separated[switch, phase] = 0.0, np.nan
        if switch not in self.network.faults:
            self.interruptions.append(Interruption(
                self.network.switch_names[switch], PHASES[phase], attempt.ordered, attempt.separated, attempt.opened,
                attempt.chopped, peak, at, attempt.reignitions))
