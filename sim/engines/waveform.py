"""Waveform engine: topology, coefficients, pole operations and chunked stepping around the kernel."""

import numpy as np

from sim.engines.methods import METHODS
from sim.errors import SolveError
from sim.kernels.columns import SHAFT_SAMPLES
from sim.kernels.waveform import DIVERGED, POLE_ZERO, STALL_TRIP, Samples, waveform_steps
from sim.kernels.waveform_stage import Coefficients
from sim.network.tables import CLARKE

METHOD = METHODS["alexander2"]
CHUNK = 2048                # steps per kernel call: progress and interruption are served in between
SLIVER = 1e-6               # share of a step that no step is taken for: rounding of t
OPEN_G = 0.0                # an open pole
# A closing pole's resistance sweeps geometrically over this range in as many steps, so that the front it
# launches rises within about a third of the bandwidth's period: steeper ones the cables could not carry
# without overshoot (tests/physics/test_fronts.py).
CLOSING_OHM = (1e4, 1e-1)
CLOSING_STEPS = 48
CLOSING_CENTRE = 0.46       # share of the sweep at which the pole passes a cable's surge impedance
RETRIES = 6                 # refinements of a current zero
# A pole opens at its current zero.  One that has found none for so long and carries less than the current
# that every interrupter chops (common practice: 3 to 5 A) opens without.
NO_ZERO_WAIT, NO_ZERO_AMPS = 1.0, 1.0


def base_step(study):
    """Step that resolves the study's bandwidth with 50 steps a period. [s]"""
    return study.waveform_step_s or 1.0 / (50.0 * study.bandwidth_hz)


def closing_advance(step):
    """How long before its order a pole begins to close, so that the middle of its front is on time. [s]"""
    return CLOSING_CENTRE * CLOSING_STEPS * step


class CoefficientCache:
    """Coefficients per (step, pole conductances); the linear parts per step are shared."""

    def __init__(self, network, method=METHOD):
        self.tables = network.tables
        self.gamma = method.gamma
        self.parts = {}
        self.full = {}
        self.factorisations = 0

    def get(self, h, pole_g):
        key = (h, pole_g.tobytes())
        if key not in self.full:
            if len(self.full) > 64:
                self.full.clear()
            self.full[key] = self._build(h, pole_g)
        return self.full[key]

    def _build(self, h, pole_g):
        if h not in self.parts:
            if len(self.parts) > 16:
                self.parts.clear()
            self.parts[h] = stage_parts(self.tables, self.gamma * h)
        parts = self.parts[h]
        y = parts["junction"].copy()
        add_poles(y, self.tables, pole_g)
        self.factorisations += 1
        z = invert_junction(y, self.tables)
        modes = (parts[k] for k in ("kp", "kq", "kf", "kt", "cq", "yc", "yh"))
        return Coefficients(h, self.gamma * h, parts["link_y"], *modes, z, pole_g.copy())


def stage_parts(tables, d):
    """Link and oscillator coefficients of a stage with d = gamma h, and the junction matrix without poles."""
    links, cables = tables.links, tables.cables
    link_y = d / (links.l + d * links.r + d * d * links.s)
    cq = 1.0 / (1.0 + d * cables.b)
    yc = 1.0 / (1.0 + d * cables.alpha)
    counts, branches = np.diff(cables.first), np.diff(cables.branch)
    owner = np.repeat(np.arange(len(counts)), branches)
    fosters = np.zeros((2, len(counts)))
    for row in range(2):
        np.add.at(fosters[row], owner, (cables.beta**2 * (1.0 / cables.alpha - d * yc))[row])
    k = 1.0 / (1.0 + d * (cables.a + np.repeat(fosters, counts, axis=1)) + (d * cables.w) ** 2 * cq)
    parts = {"link_y": link_y, "yc": yc, "yh": d * cables.beta * yc, "kp": k, "kq": k * d * cables.w * cq, "cq": cq,
             "kf": k * d * cables.gf, "kt": k * d * cables.gt}
    parts["junction"] = junction_matrix(tables, d, link_y, parts["kf"], parts["kt"])
    return parts


def junction_matrix(tables, d, link_y, kf, kt):
    """Admittance matrix of all nodes in Clarke coordinates, shape (3N, 3N), component-major. [S]"""
    nodes, links, cables = tables.nodes, tables.links, tables.cables
    n = nodes.c.shape[1]
    y = np.zeros((3 * n, 3 * n))
    for c in range(3):
        row = 0 if c < 2 else 1
        at = np.arange(n) + c * n
        y[at, at] += nodes.c[row] / d + nodes.g[row]
        for k in range(len(cables.start)):
            span = slice(cables.first[k], cables.first[k + 1])
            f, t = c * n + cables.start[k], c * n + cables.end[k]
            gf, gt = cables.gf[row, span], cables.gt[row, span]
            y[f, f] += gf @ kf[row, span]
            y[f, t] += gf @ kt[row, span]
            y[t, f] += gt @ kf[row, span]
            y[t, t] += gt @ kt[row, span]
    for b in range(len(links.start)):
        ends = [(links.start[b], links.wf[b], links.zf[b]), (links.end[b], links.wt[b], links.zt[b])]
        ends = [end for end in ends if end[0] >= 0]
        for p, wp, zp in ends:
            for q, wq, zq in ends:
                block = np.conj(wp) * wq * link_y[0, b]
                y[p, q] += block.real
                y[n + p, n + q] += block.real
                y[p, n + q] -= block.imag
                y[n + p, q] += block.imag
                y[2 * n + p, 2 * n + q] += zp * zq * link_y[1, b]
    return y


def add_poles(y, tables, pole_g):
    """Add pole conductances (phase quantities) to the junction matrix in place."""
    n = tables.nodes.c.shape[1]
    rows = np.arange(3) * n
    for q in range(len(tables.switches.start)):
        if not pole_g[q].any():
            continue
        block = CLARKE @ np.diag(pole_g[q]) @ CLARKE.T
        f, t = rows + tables.switches.start[q], rows + tables.switches.end[q]
        y[np.ix_(f, f)] += block
        y[np.ix_(t, t)] += block
        y[np.ix_(f, t)] -= block
        y[np.ix_(t, f)] -= block


def invert_junction(y, tables):
    """Inverse of the junction matrix, scaled symmetrically first so that widely different admittances keep
    their digits.

    Raises
    ------
    SolveError
        If the matrix is singular: some node has no path at all.
    """
    scale = 1.0 / np.sqrt(np.abs(np.diag(y)) + 1e-300)
    try:
        z = np.linalg.inv(y * scale[:, None] * scale) * scale[:, None] * scale
    except np.linalg.LinAlgError:
        z = np.full_like(y, np.nan)
    if not np.isfinite(z).all():
        worst = int(np.argmin(np.abs(np.diag(y)))) % tables.nodes.c.shape[1]
        raise SolveError(f"node #{worst}", 0.0, "the network matrix is singular: give the node a stray "
                                                "capacitance or a path to earth")
    return np.ascontiguousarray(z)


class Recorder:
    """Growing store of samples; the kernel writes straight into its present block."""

    def __init__(self, network, block=CHUNK):
        self.network, self.size = network, block
        self.blocks = []

    def block(self):
        t = self.network.tables
        n, b, k = t.nodes.c.shape[1], len(t.links.start), len(t.cables.start)
        q, a, d, m = len(t.switches.start), len(t.machines.node), len(t.sources.data), self.size + 1
        return Samples(np.zeros(m), np.zeros((m, 3, n)), np.zeros((m, 3, b)), np.zeros((m, 2, 3, k)),
                       np.zeros((m, q, 3)), np.zeros((m, a), dtype=complex), np.zeros((m, a, SHAFT_SAMPLES)),
                       np.zeros((m, d, 4)))

    def keep(self, samples, count):
        if count:
            self.blocks.append(Samples(*(part[:count].copy() for part in samples)))

    def latest(self, span):
        """Samples of the last `span` seconds."""
        blocks, first = [], self.blocks[-1].t[-1] - span
        for block in reversed(self.blocks):
            blocks.insert(0, block)
            if block.t[0] <= first:
                break
        parts = [np.concatenate(part) for part in zip(*blocks)]
        late = parts[0] >= first
        return Samples(*(part[late] for part in parts))

    def joined(self):
        """All samples so far as one Samples, or None."""
        if not self.blocks:
            return None
        return Samples(*(np.concatenate(parts) for parts in zip(*self.blocks)))


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
    """

    def __init__(self, network, step, stride=1, method=METHOD):
        self.network, self.h, self.stride, self.method = network, step, stride, method
        self.tables = network.tables
        self.cache = CoefficientCache(network, method)
        self.pole_g = np.where(network.closed[:, None], self.tables.switches.g[:, None], OPEN_G).repeat(3, axis=1)
        self.pole_g = np.ascontiguousarray(self.pole_g.reshape(-1, 3))
        self.open_since = np.inf
        self.quiet = 1e-5 * network.power / (np.sqrt(3.0) * network.node_volts.max())
        self.recorder = Recorder(network)
        self.steps = 0
        self.marks = []             # (time, switch, phase) of every pole that opened
        self.closing = {}           # switch -> (index in the sweep of contact resistance, poles that close)

    def advance(self, state, t, t_end, progress=None):
        """Integrate from t to t_end; returns (time reached, index of the drive that stalled or None)."""
        while t < t_end - SLIVER * self.h:
            if self.closing:
                t = self._closing_step(state, t, t_end)
                continue
            steps = min(CHUNK, int((t_end - t) / self.h + SLIVER))
            h = self.h if steps else t_end - t
            t, status, first = self._call(state, t, h, max(steps, 1))
            if status == POLE_ZERO:
                t = self._open_at_zero(state, t, h, *first)
            elif status == STALL_TRIP:
                return t, first[0]
            if progress:
                progress(t)
        return max(t, t_end), None

    def load(self, state):
        """Compile or load the kernel without taking a step."""
        self._call(state, 0.0, self.h, 0, keep=False)

    def _call(self, state, t, h, steps, keep=True):
        samples = self.recorder.block()
        quiet = NO_ZERO_AMPS if t > self.open_since + NO_ZERO_WAIT else self.quiet
        coef = self.cache.get(h, self.pole_g)
        status, taken, count, q, phase, share = waveform_steps(
            self.tables, coef, CLARKE, self.method.a, self.method.c, state, t, steps, self.stride,
            samples, quiet)
        if keep:
            self.recorder.keep(samples, count)
            self.steps += taken
        t += taken * h
        if status == DIVERGED:
            raise SolveError(self.network.node_names[0], t, "voltages left the number range: "
                             "reduce study.waveform_step_us or check the data of the nearest component")
        return t, status, (q, phase, share)

    def _open_at_zero(self, state, t, h, q, phase, share):
        """Shorten the step to the current zero of one pole, then open that pole.

        The zero is bracketed between the old point and the end of the refused step; false position
        repeats the shortened step until the current left is 1e-4 of its change over the step.
        """
        waiting = state.opening.copy()
        state.opening[:] = 0
        if share > 1e-6:
            start = copy_state(state)
            low, i_low = 0.0, self._pole_current(state, q, phase)
            high, i_high = h, i_low * (1.0 - 1.0 / share)
            enough = max(self.quiet, 1e-4 * abs(i_low - i_high))
            for k in range(RETRIES):
                part = low + (high - low) * i_low / (i_low - i_high)
                restore_state(state, start)
                self._call(state, t, part, 1, keep=False)
                i_part = self._pole_current(state, q, phase)
                if abs(i_part) <= enough or k == RETRIES - 1:
                    break
                if i_part * i_low > 0.0:
                    low, i_low = part, i_part
                else:
                    high, i_high = part, i_part
            t += part
            self.steps += 1
        state.opening[:] = waiting
        state.opening[q, phase] = 0
        self.pole_g[q, phase] = OPEN_G
        self.marks.append((t, q, phase))
        return t

    def _pole_current(self, state, q, phase):
        across = state.x[:, self.tables.switches.start[q]] - state.x[:, self.tables.switches.end[q]]
        return self.pole_g[q, phase] * (CLARKE[:, phase] @ across)

    def _closing_step(self, state, t, t_end):
        """One step of the sweep of contact resistance of the closing poles.

        A step that is cut short by a current zero elsewhere is repeated: the sweep does not move on.
        """
        high, low = CLOSING_OHM
        for q, (k, poles) in list(self.closing.items()):
            self.pole_g[q, poles] = 1.0 / (high * (low / high) ** (k / CLOSING_STEPS))
            if k >= CLOSING_STEPS:
                self.pole_g[q, poles] = self.tables.switches.g[q]
                del self.closing[q]
        h = min(self.h, t_end - t)
        t, status, first = self._call(state, t, h, 1)
        if status == POLE_ZERO:
            return self._open_at_zero(state, t, h, *first)
        self.closing = {q: (k + 1, poles) for q, (k, poles) in self.closing.items()}
        return t

    def close(self, switch):
        """Begin to close the open poles of a switch."""
        poles = self.pole_g[switch] == OPEN_G
        if poles.any():
            self.closing[switch] = (0, poles)

    def open(self, state, switch, t):
        """From t on, all closed poles of a switch wait for their current zero."""
        self.open_since = t
        self.closing.pop(switch, None)
        state.opening[switch] = (self.pole_g[switch] > 0.0).astype(np.int64)

    def is_waiting(self, state):
        return bool(state.opening.any() or self.closing)


def copy_state(state):
    return type(state)(*(part.copy() for part in state))


def restore_state(state, saved):
    for part, old in zip(state, saved):
        part[...] = old
