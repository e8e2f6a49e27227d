"""Waveform engine: chunked stepping around the kernel, current zeros and contacts that close."""

import numpy as np

from sim.engines.alert import Alert
from sim.engines.methods import METHODS
from sim.engines.waveform.coefficients import CoefficientCache
from sim.engines.waveform.gear import CLOSING_STEPS, STRIKE_STEPS, Gear, closing_advance
from sim.engines.waveform.recorder import CHUNK, Recorder
from sim.errors import SolveError
from sim.kernels.elements.ports import make_scratch
from sim.kernels.waveform.bridges import make_bridges
from sim.kernels.waveform.stage import Watch
from sim.kernels.waveform.steps import ALERT, DIVERGED, POLE_ZERO, REIGNITION, UNSETTLED, waveform_steps
from sim.network.tables import CLARKE

METHOD = METHODS["alexander2"]
SLIVER = 1e-6               # share of a step that no step is taken for: rounding of t
RETRIES = 6                 # refinements of a current zero
# A pole opens at its current zero.  One that has found none for so long and carries less than the current
# that every interrupter chops (common practice: 3 to 5 A) opens without.
NO_ZERO_WAIT, NO_ZERO_AMPS = 1.0, 1.0
DENSE = 2e-3                # every step is stored for so long after a pole has interrupted: recovery voltages rise [s]
DENSE_FINE, STORED_FINE = 1e-3, 5   # fine steps: for so long after any pole has moved [s], each so many of them
STEPS_PER_PERIOD = 50       # of a band
LOOK, FRONTS_MOST = 1e-3, 0.1       # how often fronts on cables are looked for, and for how long at the most [s]
OWN = 5.0                   # oscillators of cables with the regular band lie below so many times of it
TRACE = 1e-5                # share of a cable's energy in oscillators above the regular band that counts as none
RACE = 2e-3                 # a gap races for so long after it interrupted or struck: finer steps for its surges [s]
NOISE = 1e-4                # changes of a node voltage below this share of nominal are no chatter


def choose_steps(study, bands):
    """Regular step, and the finer one while what a switching left is fast, a whole share of it. [s]"""
    regular = study.waveform_step_s or 1.0 / (STEPS_PER_PERIOD * bands.rest)
    fine = study.waveform_step_s or 1.0 / (STEPS_PER_PERIOD * bands.study)
    return float(regular), float(regular / np.ceil(regular / fine - 1e-9))


def find_levels(network, timings, regular, fine):
    """How long each level of a closing contact lasts, by the band its front may hold, in whole fine steps, (Q,). [s]

    Contacts of soft starters close in every half cycle, and with regular steps.
    """
    levels = np.minimum(1.0 / (STEPS_PER_PERIOD * network.bands.switch), regular)
    levels[[q for q, timing in timings.items() if timing.soft]] = regular
    return fine * np.maximum(np.round(levels / fine), 1.0)


def find_fast_share(network, x):
    """Share of the energy of cables and of what the base power gives in a radian, x (3, n), in oscillators that only
    cables of a band of their own have."""
    cables, at = network.tables.cables, network.tables.layout
    energy = x[:, at.p:at.q] ** 2 + x[:, at.q:at.foster] ** 2
    is_fast = cables.w[[0, 0, 1]] > 2.0 * np.pi * OWN * network.bands.rest
    return float(energy[is_fast].sum() / (energy.sum() + network.power / network.tables.islands.w.min()))


def race_steps(network, regular, fine):
    """Step while a gap races, by switch: a whole share of the fine one, as its surges need it. [s]

    A gap without a surge keeps the fine step; so does one whose surge cannot be held, which is not assessed.
    """
    finer = min(1.0, regular * STEPS_PER_PERIOD * network.bands.rest) / network.bands.factor    # by the case's own step
    asked = {network.switch_names.index(name): min(fine, finer / (STEPS_PER_PERIOD * surge.band_hz))
             for name, surge in network.surges.items() if surge.hz and surge.reason is None}
    return {switch: fine / np.ceil(fine / step - 1e-9) for switch, step in asked.items()}


class WaveformEngine:
    """Fixed-step integration between moments at which poles or orders change.

    Parameters
    ----------
    network : Network
    step : float
        Regular step length. [s]
    stride : int
        Every stride-th step is stored.
    method : Method
        Table with all-implicit stages.
    timings : dict of int to Timing, optional
        How the poles of a switch move.
    fine : float, optional
        Step for `network.bands.settle` after a pole has moved, a whole share of the regular one. [s]
    racing : dict of int to float, optional
        Step while the gap of a switch races, a whole share of the fine one. [s]
    """

    def __init__(self, network, step, stride=1, method=METHOD, timings=None, fine=None, racing=None):
        self.network, self.h, self.stride, self.method = network, step, stride, method
        self.fine, self.fine_until, self.stirred = fine or step, -np.inf, np.inf
        self.tables = network.tables
        self.cache = CoefficientCache(network, method)
        self.make_gear(timings or {})
        self.watch = make_watch(network)
        self.scratch = make_scratch(len(self.tables.ports.node), len(self.tables.machines.node))
        self.bridges = make_bridges(self.tables)
        self.quiet = 1e-5 * network.power / (np.sqrt(3.0) * network.node_volts.max())
        self.open_since = np.inf
        self.dense_until = -np.inf
        self.racing, self.race_step, self.race_until = racing or {}, step, -np.inf
        self.recorder = Recorder(network)
        self.steps = 0

    def make_gear(self, timings):
        """Gear with every pole where the case has it."""
        fixed = self.fine == self.h         # one step for everything: that of the fronts too
        levels = None if fixed else find_levels(self.network, timings, self.h, self.fine)
        self.gear = Gear(self.network, timings, self.fine, levels)

    def advance(self, state, t, t_end, progress=None):
        """Integrate from t to t_end; returns (time reached, why it halted before, or None)."""
        while t < t_end - SLIVER * self.fine:
            self.gear.act(state, self.watch, t, self._present_step(t))
            if self.gear.is_closing():
                self._stir(t)
            elif self.stirred < np.inf and t >= self.fine_until - SLIVER * self.fine:
                self._look_for_fronts(state, t)
            regular = self._present_step(t)
            target = min(t_end, max(self.gear.next_time(), t + SLIVER * regular))
            for until in (self.dense_until, self.fine_until, self.race_until):
                if t < until - SLIVER * regular:
                    target = min(target, until)
            self.gear.set_contacts(state)
            ahead = self.gear.steps_ahead() if self.gear.sweeps else CHUNK
            steps = min(ahead, int((target - t) / regular + SLIVER))
            h = regular if steps else target - t
            begun = t
            t, status, first = self._call(state, t, h, max(steps, 1))
            self.gear.step_contacts(round((t - begun) / h))
            if status == POLE_ZERO:
                t = self._open_at_zero(state, t, h, *first)     # the step is repeated: contacts do not move on
                continue
            if status == REIGNITION:
                self.gear.reignite(state, *first[:2], t, STRIKE_STEPS if first[0] in self.racing else CLOSING_STEPS)
                self._stir(t)
                self._race(first[0], t)
            elif status == ALERT:
                return t, Alert.of(self.tables.monitors, first[0], first[1])
            if progress:
                progress(t)
        return max(t, t_end), None

    def _present_step(self, t):
        if t < self.race_until - SLIVER * self.race_step:
            return self.race_step
        return self.fine if t < self.fine_until - SLIVER * self.fine else self.h

    def _stir(self, t):
        """A pole has moved: what it leaves is fast for a while."""
        if self.fine < self.h:
            self.fine_until, self.stirred = t + self.network.bands.settle, t
            self.dense_until = max(self.dense_until, t + DENSE_FINE)

    def _look_for_fronts(self, state, t):
        """Go on with fine steps while cables carry more than a trace of what regular ones would disperse."""
        is_own = bool((self.network.bands.cable > 1.01 * self.network.bands.rest).any())
        if is_own and t < self.stirred + FRONTS_MOST and find_fast_share(self.network, state.x) > TRACE:
            self.fine_until = t + LOOK
        else:
            self.stirred = np.inf

    def _present_stride(self, t):
        """Steps from one stored point to the next."""
        step = self._present_step(t)
        if t < self.dense_until - SLIVER * self.fine:
            return min(STORED_FINE, round(self.h / self.fine)) * round(self.fine / step)
        return self.stride * round(self.h / step)

    def _race(self, switch, t):
        """The gap of a switch races from here: the finest step of all gaps that race."""
        if switch in self.racing:
            under_way = self.race_step if t < self.race_until else self.fine
            self.race_step, self.race_until = min(under_way, self.racing[switch]), t + RACE

    def load(self, state):
        """Compile or load the kernel without taking a step."""
        self._call(state, 0.0, self.h, 0, keep=False)

    def _call(self, state, t, h, steps, keep=True, every=1):
        samples = self.recorder.block
        stride = self._present_stride(t)
        quiet = NO_ZERO_AMPS if t > self.open_since + NO_ZERO_WAIT else self.quiet
        coef = self.cache.get(h, self.gear.pole_g)
        status, taken, count, q, phase, share = waveform_steps(
            self.tables, coef, CLARKE, self.method.a, self.method.c, state, self.watch, t, steps, stride,
            samples, np.maximum(self.tables.switches.chop, quiet), self.scratch,
            self.bridges)
        if keep:
            self.recorder.keep(count)
            self.steps += taken
        t += taken * h
        if status == DIVERGED:
            raise SolveError(self._find_worst(state), t, "voltages left the number range: "
                             "reduce study.waveform_step_us or check the data of the nearest component")
        if status == UNSETTLED:
            raise SolveError(self._find_unsettled(), t, "no current satisfies the curves of cores and arresters "
                             "at once: reduce study.waveform_step_us or check their data")
        return t, status, (q, phase, share)

    def _find_worst(self, state):
        """Node with the largest voltage at the last step that was sound, per unit of its nominal one."""
        volts = np.abs(state.x[:, self.tables.layout.nodes]).max(axis=0) / self.network.node_volts
        return self.network.node_names[int(np.argmax(volts))]

    def _find_unsettled(self):
        """Core, reactor or arrester of the port whose curve is missed most."""
        count = self.scratch.count[0]
        worst = self.scratch.chosen[int(np.argmax(np.abs(self.scratch.move[:count])))] if count else 0
        return self.network.port_names[worst].partition(".")[0]

    def _open_at_zero(self, state, t, h, q, phase, share):
        """Shorten the step to the moment at which one pole's current falls to its chopping level, then open that pole.

        The moment is bracketed between the old point and the end of the refused step; false position repeats the
        shortened step until the current is within 1e-4 of its change over the step.
        """
        waiting = state.opening.copy()
        state.opening[:] = 0
        chop = self.tables.switches.chop[q]
        if share > 1e-6:
            start, kept = copy_state(state), copy_state(self.watch)
            sign = np.sign(self._pole_current(state, q, phase))
            low, i_low = 0.0, abs(self._pole_current(state, q, phase)) - chop
            high, i_high = h, i_low * (1.0 - 1.0 / share)
            enough = max(self.quiet, 1e-4 * abs(i_low - i_high))
            for k in range(RETRIES):
                part = low + (high - low) * i_low / (i_low - i_high)
                restore_state(state, start)
                restore_state(self.watch, kept)
                self._call(state, t, part, 1, keep=False)
                i_part = sign * self._pole_current(state, q, phase) - chop
                if abs(i_part) <= enough or k == RETRIES - 1:
                    break
                if i_part > 0.0:
                    low, i_low = part, i_part
                else:
                    high, i_high = part, i_part
            t += part
            self.steps += 1
        state.opening[:] = waiting
        if not self.gear.is_firing(q):
            self._stir(t)
            if self.fine == self.h:
                self.dense_until = t + DENSE
            self._race(q, t)
        self.gear.interrupt(state, self.watch, q, phase, t, self._pole_current(state, q, phase))
        return t

    def _pole_current(self, state, q, phase):
        """Current of one pole; that of a fault flows to the point where its poles meet. [A]"""
        switches, g = self.tables.switches, self.gear.pole_g[q]
        volts = CLARKE.T @ state.x[:, switches.start[q]]
        if switches.star[q] >= 0.0:
            return g[phase] * (volts[phase] - g @ volts / (g.sum() + switches.star[q]))
        return g[phase] * (volts[phase] - CLARKE[:, phase] @ state.x[:, switches.end[q]])

    def close(self, state, switch, t, delays=None):
        """Order the open poles of a switch to close, at their point on wave where one is set."""
        timing = self.gear.timings.get(switch)
        angle = None if timing is None else 0.0 if timing.soft else timing.angle
        wait = None if angle is None else self._wait_for(state, switch, angle)
        self.gear.order_close(switch, t, wait, delays)

    def _wait_for(self, state, switch, angle):
        """Time until phase a of the start node, plus the closing advance, is at an angle; None at a dead node. [s]"""
        v = complex(*state.x[:2, self.tables.switches.start[switch]])
        if abs(v) < 0.01 * self.network.node_volts[self.tables.switches.start[switch]]:
            return None
        w = self.network.switch_w[switch]
        early = w * closing_advance(self.gear.levels[switch])
        return float((angle - 0.5 * np.pi - np.angle(v) - early) % (2.0 * np.pi) / w)

    def open(self, switch, t, is_fed=True):
        """Order all closed poles of a switch to open at their current zeros.

        Where nothing feeds them, what is left of a current only fades: none waits for the zero of so little.
        """
        self.open_since = t if is_fed else t - NO_ZERO_WAIT
        self.gear.order_open(switch, t)

    def is_waiting(self, state):
        return bool(state.opening.any() or self.gear.is_moving())


def make_watch(network):
    """Nothing followed yet."""
    t = network.tables
    q, p, n = len(t.switches.start), len(t.ports.node), len(network.node_names)
    return Watch(np.full((q, 3), np.nan), np.zeros((q, 3, 2)), np.zeros(p), np.zeros((p, 2)), np.zeros((3, n)),
                 np.zeros((3, n), np.int64), np.zeros(n, np.int64), NOISE * network.node_volts)


def copy_state(state):
    return type(state)(*(part.copy() for part in state))


def restore_state(state, saved):
    for part, old in zip(state, saved):
        part[...] = old
