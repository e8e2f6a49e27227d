"""One run, one time axis: orders from the case file, both engines, and the hand-over between them.

The envelope engine carries the balanced stretches.  Shortly before a switch operates in a live network
the state goes over to the waveform engine, and back once every pole has finished, the hold time has
passed and the zero sequence has died out.
"""

import time

import numpy as np

from sim.engines.envelope.engine import EnvelopeEngine
from sim.engines.handover import stored_energy, to_envelope, to_waveform
from sim.engines.run import alarms
from sim.engines.run import outcomes as books
from sim.engines.run.first_state import charge_cable, find_first_state, list_charges
from sim.engines.run.orders import SWITCHING, carry_out, list_orders, note_poles, operate
from sim.engines.run.precompile import load_kernels
from sim.engines.run.simulation import Run
from sim.engines.signals import envelope_stretch, waveform_stretch
from sim.engines.waveform.engine import NO_ZERO_AMPS, WaveformEngine, base_step
from sim.engines.waveform.gear import closing_advance, read_timing
from sim.errors import CaseError, SolveError
from sim.kernels.columns import DRIVE_STATES, X_CLOCK, X_HZ
from sim.kernels.control.ramp import ramp_rate
from sim.network.build import build_network
from sim.result import RunResult

LEAD = 0.02             # the waveform engine takes over this long before a switch operates [s]
HOLD = 0.1              # and keeps the run at least this long after the last operation [s]
RIPPLE = 0.05           # change of a magnitude over one rated cycle below which offset currents count as gone
HOLD_MOST = 0.5         # longest wait for that [s]
SATURATED_MOST = 3.0    # and where the offset of a core's flux still takes limbs beyond their knee [s]
ZEROS_MOST = 10.0       # and where a breaker's current has no zeros [s]
SATURATED_ZERO = 1e-3   # share of the zero sequence that is left to limbs which saturate
ZERO_SEQUENCE = 1e-6    # share of the stored energy below which the zero sequence counts as gone
CORE_MARGIN = 1.02      # a core's cycle in phases comes when its flux passes the knee by this factor
CORE_GROWTH = 1.15      # and again when it has grown by this one
LEAST_HZ = 0.5          # cycles longer than this one's are not waited for
STEPS_SHOWN = 1000      # the envelope takes at least this many steps over a run, so that curves are smooth
STORED_PER_PERIOD = 10  # stored waveform points per period of the study's bandwidth
STORED_MOST = 500_000   # stored points of a run by the waveform engine alone; peaks still come from every step


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
    if mode == "envelope" and case.faults:
        raise CaseError([f"{fault.name}: a fault needs phase quantities. Run with engine = \"auto\" or \"waveform\"."
                         for fault in case.faults])
    network = build_network(case)
    h = base_step(case.study)
    stride = max(1, round(1.0 / (STORED_PER_PERIOD * case.study.bandwidth_hz * h)))
    if mode == "waveform":
        stride = max(stride, int(case.study.duration_s / h / STORED_MOST) + 1)
    envelope = EnvelopeEngine(network, case.study.tolerance_pu, case.study.duration_s / STEPS_SHOWN)
    timings = {network.switch_names.index(breaker.name): read_timing(breaker) for breaker in case.breakers}
    waveform = WaveformEngine(network, h, stride, timings=timings)
    run = Run(case, network, mode, envelope, waveform, RunResult(case), progress=progress)
    run.result.settings = {"engine": mode, "waveform_step_s": h, "stored_every": stride,
                           "tolerance_pu": case.study.tolerance_pu, "waveform_method": "alexander2",
                           "envelope_method": "kennedy4"}
    envelope.flux_most[:] = CORE_MARGIN * network.tables.cores.knee
    run.machine_amps = np.array([np.sqrt(3.0) * m.motor.rated_current_a for m in case.machines])
    run.pending = list_orders(case, 0.0 if mode == "envelope" else closing_advance(h))
    load_kernels()
    _set_first_state(run)
    return run


def _set_first_state(run):
    """The state at t = 0, in the engine that can hold it."""
    run.state, loaded = find_first_state(run.network)
    charges = list_charges(run.case)
    if loaded:
        run.result.warnings.append(f"{', '.join(loaded)} at standstill on a live grid: the grid is switched on at "
                                   "t = 0 without a steady state before it")
        run.mark(0.0, "close", run.network.source_names[0], "grid on")
    if run.mode != "envelope" and (loaded or charges):
        _go_waveform(run, "grid switched on" if loaded else "charge left on a cable")
        for name, shares in charges:
            charge_cable(run.network, run.state, name, shares)


def _integrate(run):
    run.started_at = run.energy_now
    if run.mode == "waveform" and run.engine == "envelope":
        _go_waveform(run, "asked for")
    while True:
        _apply_due(run)
        if run.t >= run.duration - 1e-12:
            break
        target = _next_stop(run)
        tick = (lambda t: run.progress(t / run.duration)) if run.progress else None
        active = run.envelope if run.engine == "envelope" else run.waveform
        run.t, halt = active.advance(run.state, run.t, target, tick)
        if halt is not None:
            HALTED[halt.kind](run, halt.index, halt.alarm)
            if run.engine == "envelope" and halt.kind == "drive":
                run.envelope.restart(run.state)
        elif run.engine == "envelope":
            _go_waveform_if_near(run)
        else:
            _go_envelope_if_quiet(run)


def _next_stop(run):
    """End of the present advance: the next order, kink, hand-over or the end."""
    times = [run.duration] + [order.t for order in run.pending[:1]] + [k for k in run.kinks if k > run.t + 1e-9]
    if run.engine == "envelope":
        switching = _next_switching(run)
        if switching is not None and run.mode == "auto" and run.is_live:
            times.append(max(run.t, switching - LEAD))
    elif run.mode == "auto":
        times.append(max(run.quiet_from + HOLD, run.t + LEAD, run.detail_until))
    return max(run.t, min(times))


def _next_switching(run):
    return next((order.t for order in run.pending if order.action in SWITCHING or
                 (order.action == "start" and run.is_live)), None)


def _apply_due(run):
    """Carry out every order whose time has come."""
    while run.pending and run.pending[0].t <= run.t + 1e-9:
        order = run.pending.pop(0)
        if run.engine == "envelope" and order.action in (*SWITCHING, "start") and run.mode == "auto" and run.is_live:
            _go_waveform(run, f"{order.action} {order.target}")
        carry_out(run, order)
        if run.engine == "envelope":
            run.envelope.restart(run.state)
    ahead = [k for k in run.kinks if k > run.t + 1e-9]
    if len(ahead) < len(run.kinks) and run.engine == "envelope":
        _renew_ramps(run)
    run.kinks = ahead


def _renew_ramps(run):
    """Past a kink of a drive's orders its frequency has another slope: the explicit first stage needs the new one."""
    slopes = run.state.slope_r[3 * len(run.network.machine_names):].reshape(-1, DRIVE_STATES)
    for l, x in enumerate(run.drives):
        if run.state.drive_on[l]:
            later = x.copy()
            later[X_CLOCK] += 1e-9
            slopes[l, X_HZ] = ramp_rate(later, run.state.target_hz[l], run.network.tables.sources.data[l])


def _hear_drive(run, l, alarm):
    """A drive or its front end has to be told something; pulses that are blocked stop at the next current zeros."""
    if not alarms.answer(run, l, alarm):
        return
    if run.engine == "envelope" and run.mode == "auto":
        _go_waveform(run, f"{run.network.drive_names[l]} blocks its pulses")
    operate(run, run.network.switch_names.index(run.network.drive_names[l]), False)
    if run.engine == "envelope":
        run.state.drive_on[l] = 0


def _watch_core(run, k, _):
    """A core passed its knee: the envelope engine carries its fundamental only, so one cycle is run in phases.

    The next such cycle comes when the flux has grown by CORE_GROWTH, so that the highest flux is never further away.
    """
    core = run.network.tables.cores
    b, flux = core.link[k], _core_flux(run)[k]
    name = run.network.link_names[b].partition(".")[0]
    pu = flux * 2.0 * np.pi * run.network.frequency / run.network.link_volts[b]
    note = f"core of {name} beyond its knee"
    if run.mode != "auto":
        run.envelope.flux_most[k] = np.inf
        run.result.warnings.append(f"{note} from t = {run.t:.3f} s, {pu:.2f} of rated flux: the envelope engine "
                                   "carries the fundamental of its current alone")
        return
    run.envelope.flux_most[k] = CORE_GROWTH * flux
    _go_waveform(run, note)
    run.is_probe = True
    run.quiet_from += max(0.0, 1.0 / _present_frequency(run) - HOLD)


def _core_flux(run):
    """Magnitude of the flux linkage of every core, in the envelope engine's state. [V s]"""
    link = run.network.tables.cores.link
    return run.network.tables.links.l[0, link] * np.abs(run.state.x[len(run.network.node_names) + link])


def _present_frequency(run):
    """Lowest frequency of a live source, at least LEAST_HZ. [Hz]"""
    sources, state = run.network.tables.sources, run.state
    live = [state.drive[l, X_HZ] if l >= 0 else sources.w[s] / (2.0 * np.pi) for s, l in enumerate(sources.drive)
            if (state.drive_on[l] if l >= 0 else state.live[s])]
    return max(min(live, default=run.network.frequency), LEAST_HZ)


HALTED = {"drive": _hear_drive, "core": _watch_core}


def _go_waveform_if_near(run):
    switching = _next_switching(run)
    if switching is not None and run.mode == "auto" and run.is_live and run.t >= switching - LEAD - 1e-9:
        _go_waveform(run, "a switch is about to operate")


def _go_waveform(run, why):
    _close_stretch(run)
    before = run.energy_now
    run.state = to_waveform(run.network, run.state, run.envelope.closed)
    run.is_probe = False
    run.started_at += run.energy_now - before       # a saturated core's energy: mean over a turn against the moment
    run.waveform.gear.place(run.envelope.closed)
    run.engine = "waveform"
    run.quiet_from = run.t
    run.result.handovers.append({"t_s": run.t, "to": "waveform", "why": why})


def _go_envelope_if_quiet(run):
    """Back to the envelope engine when nothing is left that it cannot carry."""
    note_poles(run)
    if run.mode != "auto" or run.t < max(run.quiet_from + HOLD, run.detail_until) - 1e-9:
        return
    if run.waveform.is_waiting(run.state):
        return
    upcoming = _next_switching(run)
    if upcoming is not None and upcoming - run.t < LEAD + HOLD:
        return
    poles = run.waveform.gear.pole_g > 0.0
    balanced = (poles.all(axis=1) | ~poles.any(axis=1)).all()
    if not balanced or (not run.is_probe and not _has_settled(run)):
        return
    _close_stretch(run)
    before = run.energy_now
    run.state = to_envelope(run.network, run.state, run.t, poles.all(axis=1))
    run.started_at += run.energy_now - before
    run.envelope.closed = poles.all(axis=1).astype(np.int64)
    run.envelope.flux_most[:] = np.maximum(run.envelope.flux_most, CORE_GROWTH * _core_flux(run))
    run.envelope.restart(run.state)
    run.engine = "envelope"
    run.result.handovers.append({"t_s": run.t, "to": "envelope", "why": "all poles at rest, zero sequence gone"})


def _has_settled(run):
    """Whether offsets and zero sequence are gone; with limbs that saturate they take longer, and are waited for longer.

    Limbs draw a zero sequence of their own, which never goes while they saturate.
    """
    samples = run.waveform.recorder.latest(1.0 / run.network.frequency)
    saturated = bool(np.any(samples.port[:, run.network.tables.ports.link >= 0]))
    most, share = (SATURATED_MOST, SATURATED_ZERO) if saturated else (HOLD_MOST, ZERO_SEQUENCE)
    if run.t < run.quiet_from + most and _ripple(run, samples) > RIPPLE:
        return False
    if run.t < run.quiet_from + ZEROS_MOST and _lacks_zeros(run):
        return False
    zero = stored_energy(run.network, run.state.x * np.array([[0.0], [0.0], [1.0]]))
    if zero > share * (run.energy_now + run.network.power / 314.0):
        run.quiet_from = run.t
        return False
    return True


def _lacks_zeros(run):
    """Whether a pole carried its current without a zero over the last cycle of the slowest source."""
    poles = run.waveform.recorder.latest(1.0 / _present_frequency(run)).pole
    return bool(np.any((poles.min(axis=0) > NO_ZERO_AMPS) | (poles.max(axis=0) < -NO_ZERO_AMPS)))


def _ripple(run, samples):
    """Largest change of a node voltage or machine current magnitude over samples, per unit."""
    volts = np.hypot(samples.v[:, 0], samples.v[:, 1]) / run.network.node_volts
    amps = np.abs(samples.stator) / run.machine_amps
    return max(float(np.ptp(values, axis=0).max()) for values in (volts, amps) if values.size)


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
    note_poles(run)
    _close_stretch(run)
    peak = run.state.peak if run.last_peak is None else run.last_peak
    books.enter_marks(run.result, run.network, run.state)
    books.enter_peaks(run.result, run.network, peak)
    run.waveform.gear.conclude(run.waveform.watch)
    books.enter_switching(run.result, run.network, run.waveform)
    books.enter_machines(run.result, run.network, run.state, run.trips)
    books.enter_energy(run.result, run.state, run.energy_now - run.started_at)
    books.enter_work(run.result, run.envelope.counts, run.waveform.steps, run.waveform.cache.factorisations)
    done = time.perf_counter()
    run.result.timing = {"compile_s": compiled - clock, "solve_s": done - compiled, "total_s": done - clock}
