"""One run, one time axis: orders from the case file, both engines, and the hand-over between them.

The envelope engine carries the balanced stretches.  Shortly before a switch operates in a live network
the state goes over to the waveform engine, and back once every pole has finished, the hold time has
passed and the zero sequence has died out.
"""

import time

import numpy as np

from sim.engines.envelope.engine import EnvelopeEngine
from sim.engines.run import outcomes
from sim.engines.run.alarms import answer_drive, answer_front
from sim.engines.run.changeover import (
    CORE_MARGIN,
    HOLD,
    LEAD,
    answer_core,
    close_stretch,
    find_switching,
    go_envelope_if_quiet,
    go_waveform,
    go_waveform_if_near,
    hand_to_waveform,
)
from sim.engines.run.first_state import charge_cable, find_first_state, list_charges
from sim.engines.run.orders import SWITCHING, carry_out, list_orders, note_poles
from sim.engines.run.precompile import load_kernels
from sim.engines.run.simulation import Run
from sim.engines.waveform.engine import WaveformEngine, choose_steps, race_steps
from sim.engines.waveform.gear import read_timing
from sim.errors import CaseError, SolveError
from sim.kernels.columns import MONITOR_CORE, MONITOR_DRIVE, MONITOR_FRONT, SOURCE_GRID, X_CLOCK, X_HZ
from sim.kernels.control.ramp import ramp_rate
from sim.network.build import build_network
from sim.network.cores import find_corner
from sim.network.layout import drive_rows
from sim.results.run import RunResult

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
    h, fine = choose_steps(case.study, network.bands)
    stride = max(1, round(1.0 / (STORED_PER_PERIOD * network.bands.rest * h)))
    if mode == "waveform":
        stride = max(stride, int(case.study.duration_s / h / STORED_MOST) + 1)
    envelope = EnvelopeEngine(network, case.study.tolerance_pu, case.study.duration_s / STEPS_SHOWN)
    timings = {network.switch_names.index(breaker.name): read_timing(breaker) for breaker in case.breakers}
    waveform = WaveformEngine(network, h, stride, timings=timings, fine=fine, racing=race_steps(network, h, fine))
    run = Run(case, network, mode, envelope, waveform, RunResult(case), progress=progress)
    run.result.settings = {"engine": mode, "waveform_step_s": h, "fine_step_s": fine, "stored_every": stride,
                           "bandwidth_hz": network.bands.rest, "switching_bandwidth_hz": network.bands.study,
                           "tolerance_pu": case.study.tolerance_pu, "waveform_method": "alexander2",
                           "envelope_method": "kennedy4"}
    run.pending = list_orders(case, 0.0 if mode == "envelope" else waveform.gear.lead)
    load_kernels()
    _set_first_state(run)
    return run


def _set_first_state(run):
    """The state at t = 0, in the engine that can hold it."""
    run.state, loaded = find_first_state(run.network)
    run.core_limits = CORE_MARGIN * find_corner(run.network.tables.cores)
    charges = list_charges(run.case)
    if loaded:
        run.result.warnings.append(f"{', '.join(loaded)} at standstill on a live grid: the grid is switched on at "
                                   "t = 0 without a steady state before it")
        for s in np.flatnonzero(run.network.tables.sources.kind == SOURCE_GRID):
            run.record(0.0, "close", run.network.source_names[s], "grid on", "motors at standstill hang on it", False)
    if run.mode != "envelope" and (loaded or charges):
        hand_to_waveform(run, "grid switched on" if loaded else "charge left on a cable")
        for name, shares in charges:
            charge_cable(run.network, run.state, name, shares)


def _integrate(run):
    run.started_at = run.energy_now
    if run.mode == "waveform" and run.engine == "envelope":
        hand_to_waveform(run, "asked for")
    while True:
        _apply_due(run)
        if run.t >= run.duration - 1e-12:
            break
        target = _next_stop(run)
        tick = (lambda t: run.progress(t / run.duration)) if run.progress else None
        active = run.envelope if run.engine == "envelope" else run.waveform
        run.t, alert = active.advance(run.state, run.t, target, tick)
        if alert is not None:
            ANSWERS[alert.kind](run, alert.item, alert.code)
            if run.engine == "envelope" and alert.kind != MONITOR_CORE:
                run.envelope.restart(run.state)
        elif run.engine == "envelope":
            go_waveform_if_near(run)
        else:
            go_envelope_if_quiet(run)


ANSWERS = {MONITOR_DRIVE: answer_drive, MONITOR_FRONT: answer_front, MONITOR_CORE: answer_core}


def _next_stop(run):
    """End of the present advance: the next order, kink, hand-over or the end."""
    times = [run.duration] + [order.t for order in run.pending[:1]] + [k for k in run.kinks if k > run.t + 1e-9]
    if run.engine == "envelope":
        switching = find_switching(run)
        if switching is not None and run.mode == "auto" and run.is_live:
            times.append(max(run.t, switching - LEAD))
    elif run.mode == "auto":
        times.append(max(run.quiet_from + HOLD, run.t + LEAD, run.detail_until))
    return max(run.t, min(times))


def _apply_due(run):
    """Carry out every order whose time has come."""
    while run.pending and run.pending[0].t <= run.t + 1e-9:
        order = run.pending.pop(0)
        if order.action in (*SWITCHING, "start") and run.is_live:
            go_waveform(run, f"{order.action} {order.target}")
        carry_out(run, order)
        if run.engine == "envelope":
            run.envelope.restart(run.state)
    ahead = [k for k in run.kinks if k > run.t + 1e-9]
    if len(ahead) < len(run.kinks) and run.engine == "envelope":
        _renew_ramps(run)
    run.kinks = ahead


def _renew_ramps(run):
    """Past a kink of a drive's orders its frequency has another slope: the explicit first stage needs the new one."""
    slopes = drive_rows(run.network.tables.layout, run.state.slope_r)
    for l, x in enumerate(run.drives):
        if run.state.drive_on[l]:
            later = x.copy()
            later[X_CLOCK] += 1e-9
            slopes[l, X_HZ] = ramp_rate(later, run.state.target_hz[l], run.network.tables.drives.data[l])


def _finish(run, clock, compiled):
    """Enter what a run came to, complete or not."""
    note_poles(run)
    close_stretch(run)
    peak = run.state.peak if run.last_peak is None else run.last_peak
    outcomes.enter_breakaways(run.result, run.network, run.state)
    outcomes.enter_peaks(run.result, run.network, peak, run.case.study.bandwidth_hz)
    run.waveform.gear.conclude(run.waveform.watch)
    outcomes.enter_switching(run.result, run.network, run.waveform)
    outcomes.enter_machines(run.result, run.network, run.state, run.trips)
    outcomes.enter_energy(run.result, run.state, run.energy_now - run.started_at)
    outcomes.enter_work(run.result, run.envelope.counts, run.waveform.steps, run.waveform.cache.factorisations)
    done = time.perf_counter()
    run.result.timing = {"compile_s": compiled - clock, "solve_s": done - compiled, "total_s": done - clock}
