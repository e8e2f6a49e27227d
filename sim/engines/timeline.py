"""One run, one time axis: orders from the case file, both engines, and the hand-over between them.

The envelope engine carries the balanced stretches.  Shortly before a switch operates in a live network
the state goes over to the waveform engine, and back once every pole has finished, the hold time has
passed and the zero sequence has died out.
"""

import time
from dataclasses import dataclass, field

import numpy as np

from sim.engines import books
from sim.engines import waveform as wave
from sim.engines.envelope import EnvelopeEngine
from sim.engines.handover import dead_state, drive_states, stored_energy, to_envelope, to_waveform
from sim.engines.signals import envelope_stretch, waveform_stretch
from sim.engines.steady import steady_state
from sim.engines.warm import load_kernels
from sim.errors import SolveError
from sim.kernels.columns import DRIVE_HOLD, DRIVE_RISE, DRIVE_STALL, DRIVE_START_HZ, DRIVE_STATES, X_CLOCK, X_HZ
from sim.kernels.drive import ramp_rate
from sim.network.build import build_network
from sim.result import Mark, RunResult

LEAD = 0.02             # the waveform engine takes over this long before a switch operates [s]
HOLD = 0.1              # and keeps the run at least this long after the last operation [s]
RIPPLE = 0.05           # change of a magnitude over one rated cycle below which offset currents count as gone
HOLD_MOST = 0.5         # longest wait for that [s]
ZERO_SEQUENCE = 1e-6    # share of the stored energy below which the zero sequence counts as gone
STEPS_SHOWN = 1000      # the envelope takes at least this many steps over a run, so that curves are smooth
STORED_PER_PERIOD = 10  # stored waveform points per period of the study's bandwidth
STORED_MOST = 500_000   # stored points of a run by the waveform engine alone; peaks still come from every step
SWITCHING = ("open", "close", "stop")


@dataclass
class Run:
    """Everything that one simulation carries along."""

    case: object
    network: object
    mode: str                   # "auto", "envelope" or "waveform"
    envelope: EnvelopeEngine
    waveform: wave.WaveformEngine
    result: RunResult
    state: object = None
    engine: str = "envelope"
    t: float = 0.0
    started_at: float = 0.0     # stored energy and clock at the start of the run
    quiet_from: float = 0.0     # no operation since
    machine_amps: object = None  # rated currents as space vectors [A]
    pending: list = field(default_factory=list)
    kinks: list = field(default_factory=list)
    trips: dict = field(default_factory=dict)
    last_peak: object = None    # peaks before the envelope engine opened a live switch
    progress: object = None

    @property
    def duration(self):
        return self.case.study.duration_s


def simulate(case, engine=None, progress=None):
    """Run a case from its first state to its end.

    Parameters
    ----------
    case : CheckedCase
    engine : str, optional
        "auto", "envelope" or "waveform"; the case's own choice by default.
    progress : callable, optional
        Called with the share of the run that is done, 0 to 1.

    Returns
    -------
    RunResult

    Raises
    ------
    SolveError
        With the attribute ``partial``: the RunResult up to the failure.  The same attribute is set on a
        KeyboardInterrupt.
    """
    clock = time.perf_counter()
    run = _prepare(case, engine or case.study.engine, progress)
    compiled = time.perf_counter()
    try:
        _integrate(run)
    except (SolveError, KeyboardInterrupt) as stop:
        run.result.failure = str(stop) or "interrupted"
        _finish(run, clock, compiled)
        stop.partial = run.result
        raise
    _finish(run, clock, compiled)
    return run.result


def _prepare(case, mode, progress):
    network = build_network(case)
    h = wave.base_step(case.study)
    stride = max(1, round(1.0 / (STORED_PER_PERIOD * case.study.bandwidth_hz * h)))
    if mode == "waveform":
        stride = max(stride, int(case.study.duration_s / h / STORED_MOST) + 1)
    envelope = EnvelopeEngine(network, case.study.tolerance_pu, case.study.duration_s / STEPS_SHOWN)
    run = Run(case, network, mode, envelope,
              wave.WaveformEngine(network, h, stride), RunResult(case), progress=progress)
    run.result.settings = {"engine": mode, "waveform_step_s": h, "stored_every": stride,
                           "tolerance_pu": case.study.tolerance_pu, "waveform_method": "alexander2",
                           "envelope_method": "kennedy4"}
    run.machine_amps = np.array([np.sqrt(3.0) * m.motor.rated_current_a for m in case.machines])
    run.pending = _orders(case, 0.0 if mode == "envelope" else wave.closing_advance(h))
    load_kernels()
    _first_state(run)
    return run


def _orders(case, advance):
    """All orders in time; a drive without a start order starts at 0, poles begin to close a little early."""
    orders = [(max(0.0, event.at_s - (advance if event.action == "close" else 0.0)), event.action, event.target, event)
              for event in case.events]
    started = {event.target for event in case.events if event.action == "start"}
    orders += [(0.0, "start", drive.name, None) for drive in case.drives if drive.name not in started]
    return sorted(orders, key=lambda order: order[0])


def _first_state(run):
    """Grids run in steady state unless a machine at standstill hangs on them: then they are switched on at 0."""
    network, t = run.network, run.network.tables
    run.state = dead_state(network)
    if not any(l < 0 for l in t.sources.drive):
        return
    frame = np.zeros(len(t.islands.source))
    for island, s in enumerate(t.islands.source):
        if s >= 0 and t.sources.drive[s] < 0:
            frame[island] = t.sources.w[s]
            run.state.theta[island] = t.sources.phase[s]
    x = steady_state(network, network.closed, frame)
    v = np.abs(x[:len(network.node_names)])
    loaded = [m for m, n in zip(network.machine_names, t.machines.node) if v[n] > 0.01 * network.node_volts[n]]
    if loaded:
        run.result.warnings.append(f"{', '.join(loaded)} at standstill on a live grid: the grid is switched on at "
                                   "t = 0 without a steady state before it")
        _mark(run, 0.0, "close", network.source_names[0], "grid on")
        if run.mode != "envelope":
            _go_waveform(run, "grid switched on")
        return
    run.state.x[:] = x
    run.state.frame_w[:] = frame
    nodes = len(network.node_names)
    run.state.peak[:, 0], run.state.peak[:, 2] = np.sqrt(2.0 / 3.0) * v[:nodes], np.sqrt(2.0) * v[:nodes]


def _integrate(run):
    run.started_at = _energy_now(run)
    if run.mode == "waveform" and run.engine == "envelope":
        _go_waveform(run, "asked for")
    while True:
        _apply_due(run)
        if run.t >= run.duration - 1e-12:
            break
        target = _next_stop(run)
        tick = (lambda t: run.progress(t / run.duration)) if run.progress else None
        active = run.envelope if run.engine == "envelope" else run.waveform
        run.t, stalled = active.advance(run.state, run.t, target, tick)
        if stalled is not None:
            _trip_drive(run, stalled)
        elif run.engine == "envelope":
            _go_waveform_if_near(run)
        else:
            _go_envelope_if_quiet(run)


def _next_stop(run):
    """End of the present advance: the next order, kink, hand-over or the end."""
    times = [run.duration] + [order[0] for order in run.pending[:1]] + [k for k in run.kinks if k > run.t + 1e-9]
    if run.engine == "envelope":
        switching = _next_switching(run)
        if switching is not None and run.mode == "auto" and _is_live(run):
            times.append(max(run.t, switching - LEAD))
    elif run.mode == "auto":
        times.append(max(run.quiet_from + HOLD, run.t + LEAD))
    return max(run.t, min(times))


def _next_switching(run):
    return next((order[0] for order in run.pending if order[1] in SWITCHING or
                 (order[1] == "start" and _is_live(run))), None)


def _is_live(run):
    """True when something could happen at a switch: stored energy or a source that is on."""
    t = run.network.tables
    on = any((run.state.drive_on[l] if l >= 0 else run.state.live[s]) for s, l in enumerate(t.sources.drive))
    return bool(on) or _energy_now(run) > 1e-12 * run.network.power


def _energy_now(run):
    return stored_energy(run.network, run.state.x)


def _apply_due(run):
    """Carry out every order whose time has come."""
    while run.pending and run.pending[0][0] <= run.t + 1e-9:
        _, action, target, event = run.pending.pop(0)
        if run.engine == "envelope" and action in SWITCHING + ("start",) and run.mode == "auto" and _is_live(run):
            _go_waveform(run, f"{action} {target}")
        ORDERS[action](run, target, event)
        if run.engine == "envelope":
            run.envelope.restart(run.state)
    ahead = [k for k in run.kinks if k > run.t + 1e-9]
    if len(ahead) < len(run.kinks) and run.engine == "envelope":
        _renew_ramps(run)
    run.kinks = ahead


def _renew_ramps(run):
    """Past a kink of a drive's orders its frequency has another slope: the explicit first stage needs the new one."""
    slopes = run.state.slope_r[3 * len(run.network.machine_names):].reshape(-1, DRIVE_STATES)
    for l, x in enumerate(drive_states(run.network, run.state)):
        if run.state.drive_on[l]:
            later = x.copy()
            later[X_CLOCK] += 1e-9
            slopes[l, X_HZ] = ramp_rate(later, run.state.target_hz[l], run.network.tables.sources.data[l])


def _order_switch(run, target, event):
    closing = event.action == "close"
    _mark(run, event.at_s, event.action, target, f"{target} {'closes' if closing else 'opens'}")
    _operate(run, run.network.switch_names.index(target), closing)


def _operate(run, switch, closing):
    if run.engine == "waveform":
        if closing:
            run.state.opening[switch] = 0       # an opening that still waits is called off
            run.waveform.close(switch)
        else:
            run.waveform.open(run.state, switch, run.t)
        run.quiet_from = run.t
        return
    if not closing and _is_live(run):
        run.result.warnings.append(f"{run.network.switch_names[switch]} opened at t = {run.t:.3f} s without waiting "
                                   "for current zeros: the envelope engine does not assess peaks after it")
        if run.last_peak is None:
            run.last_peak = run.state.peak.copy()
    run.envelope.closed[switch] = int(closing)


def _order_start(run, target, event):
    l = run.network.drive_names.index(target)
    data = run.network.tables.sources.data[l]
    drive = drive_states(run.network, run.state) if run.engine == "envelope" else run.state.drive
    drive[l] = 0.0
    drive[l, X_HZ] = data[DRIVE_START_HZ]
    run.state.drive_on[l] = 1
    data[DRIVE_STALL] = run.case.drives[l].stall_s      # a trip has stopped the timer
    run.kinks += [run.t + data[DRIVE_HOLD], run.t + data[DRIVE_RISE]]
    _mark(run, run.t, "start", target, f"{target} starts")
    _operate(run, run.network.switch_names.index(target), True)


def _order_stop(run, target, event):
    _mark(run, run.t, "stop", target, f"{target} stops")
    _operate(run, run.network.switch_names.index(target), False)
    if run.engine == "envelope":
        run.state.drive_on[run.network.drive_names.index(target)] = 0


def _order_speed(run, target, event):
    run.state.target_hz[run.network.drive_names.index(target)] = event.to_hz
    _mark(run, run.t, "speed", target, f"{target} to {event.to_hz:g} Hz")


def _order_load(run, target, event):
    run.state.load_factor[run.network.machine_names.index(target)] = event.load_pu
    _mark(run, run.t, "load", target, f"{target} load {100 * event.load_pu:g} %")


ORDERS = {"open": _order_switch, "close": _order_switch, "start": _order_start, "stop": _order_stop,
          "speed": _order_speed, "load": _order_load}


def _trip_drive(run, l):
    """The stall timer has run out: pulses are blocked at the next current zeros."""
    name = run.network.drive_names[l]
    _mark(run, run.t, "trip", name, f"{name} trips: at its current limit for too long")
    run.trips[l] = run.t
    run.network.tables.sources.data[l, DRIVE_STALL] = np.inf   # the timer has done its work
    if run.engine == "envelope" and run.mode == "auto":
        _go_waveform(run, f"trip of {name}")
    _operate(run, run.network.switch_names.index(name), False)
    if run.engine == "envelope":
        run.state.drive_on[l] = 0
        run.envelope.restart(run.state)


def _go_waveform_if_near(run):
    switching = _next_switching(run)
    if switching is not None and run.mode == "auto" and _is_live(run) and run.t >= switching - LEAD - 1e-9:
        _go_waveform(run, "a switch is about to operate")


def _go_waveform(run, why):
    _close_stretch(run)
    run.state = to_waveform(run.network, run.state)
    closed = run.envelope.closed[:, None] * run.network.tables.switches.g[:, None]
    run.waveform.pole_g = np.ascontiguousarray(np.repeat(closed, 3, axis=1).reshape(-1, 3)) + 0.0
    run.engine = "waveform"
    run.quiet_from = run.t
    run.result.handovers.append({"t_s": run.t, "to": "waveform", "why": why})


def _go_envelope_if_quiet(run):
    """Back to the envelope engine when nothing is left that it cannot carry."""
    _note_poles(run)
    if run.mode != "auto" or run.t < run.quiet_from + HOLD - 1e-9 or run.waveform.is_waiting(run.state):
        return
    upcoming = _next_switching(run)
    if upcoming is not None and upcoming - run.t < LEAD + HOLD:
        return
    if run.t < run.quiet_from + HOLD_MOST and _ripple(run) > RIPPLE:
        return
    poles = run.waveform.pole_g > 0.0
    balanced = (poles.all(axis=1) | ~poles.any(axis=1)).all()
    zero = stored_energy(run.network, run.state.x * np.array([[0.0], [0.0], [1.0]]))
    floor = run.network.power / 314.0
    if not balanced or zero > ZERO_SEQUENCE * (_energy_now(run) + floor):
        run.quiet_from = run.t
        return
    _close_stretch(run)
    run.state = to_envelope(run.network, run.state, run.t)
    run.envelope.closed = poles.all(axis=1).astype(np.int64)
    run.envelope.restart(run.state)
    run.engine = "envelope"
    run.result.handovers.append({"t_s": run.t, "to": "envelope", "why": "all poles at rest, zero sequence gone"})


def _ripple(run):
    """Largest change of a node voltage or machine current magnitude over the last rated cycle, per unit."""
    samples = run.waveform.recorder.latest(1.0 / run.network.frequency)
    volts = np.hypot(samples.v[:, 0], samples.v[:, 1]) / run.network.node_volts
    amps = np.abs(samples.stator) / run.machine_amps
    return max(float(np.ptp(values, axis=0).max()) for values in (volts, amps) if values.size)


def _note_poles(run):
    """Marks of opened poles; a drive whose poles are all open is off."""
    marks, run.waveform.marks = run.waveform.marks, []
    for t, q, phase in marks:
        name = run.network.switch_names[q]
        _mark(run, t, "pole_open", name, f"{name} pole {'abc'[phase]} opens")
        run.quiet_from = max(run.quiet_from, t)
        if name in run.network.drive_names and not run.waveform.pole_g[q].any():
            run.state.drive_on[run.network.drive_names.index(name)] = 0


def _mark(run, t, kind, target, label):
    run.result.marks.append(Mark(float(t), kind, target, label))


def _close_stretch(run):
    """Turn the samples since the last hand-over into a stretch."""
    if run.engine == "envelope":
        samples = run.envelope.joined()
        if samples is not None:
            run.result.stretches.append(envelope_stretch(run.network, samples))
        return
    samples = run.waveform.recorder.joined()
    run.waveform.recorder.blocks = []
    if samples is not None:
        run.result.stretches.append(waveform_stretch(run.network, samples))


def _finish(run, clock, compiled):
    """Close the books of a run, complete or not."""
    if run.engine == "waveform":
        _note_poles(run)
    _close_stretch(run)
    peak = run.state.peak if run.last_peak is None else run.last_peak
    books.enter_marks(run.result, run.network, run.state)
    books.enter_peaks(run.result, run.network, peak)
    books.enter_machines(run.result, run.network, run.state, run.trips)
    books.enter_energy(run.result, run.state, _energy_now(run) - run.started_at)
    books.enter_work(run.result, run.envelope.counts, run.waveform.steps, run.waveform.cache.factorisations)
    done = time.perf_counter()
    run.result.timing = {"compile_s": compiled - clock, "solve_s": done - compiled, "total_s": done - clock}
