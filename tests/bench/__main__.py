"""Benchmark: ``python -m tests.bench`` prints one table.  Ratios hold when the machine's speed drifts.

The reference is SciPy's Radau with a sparse Jacobian on the same ODE, from a common point shortly after
breakaway over the same stretch of ramp; its tolerance is tightened until its error against a tight
solution is no larger than ours.  Error means the relative error of the shaft speed at the end.
"""

import os
import platform
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from scipy.integrate import solve_ivp

import sim.engines.run.timeline as timeline
from sim.case import parse_case
from sim.engines.envelope.engine import EnvelopeEngine
from sim.engines.handover import to_waveform
from sim.engines.waveform.engine import WaveformEngine
from sim.kernels.columns import DRIVE_HOLD, WORK_ACCEPTED, WORK_NEWTON
from tests.bench import closings
from tests.bench.space_vector_ode import SpaceVectorOde

CASE = Path(__file__).parents[2] / "cases" / "quillfen.toml"
FROM, TO = 3.0, 12.0        # stretch of ramp for the comparison [s]
RAMP = ("study.duration_s=60",)
ARRESTER = '[[arrester]]\nname = "arrester"\nnode = "motor_terminals"\nrated_kv = 7.2\n'
STRAINED = 0.8              # of every knee: cores of 1.15 then are beyond theirs at the crest of the flux at speed


def copy(state):
    return type(state)(*(part.copy() for part in state))


def median_time(action, runs=5):
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        action()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def prepared(more="", overrides=()):
    case = parse_case(CASE.read_text() + more, (*RAMP, *overrides))
    run = timeline._prepare(case, "auto", None)
    timeline._apply_due(run)
    run.state.limit[:] = np.inf         # a core beyond its knee would halt it
    return run


def at_speed(knee_share):
    """The chain with an arrester at full speed, all nonlinear ports in place, knees lowered."""
    run = prepared(ARRESTER, ("stepup.knee_pu=1.15", "subsea_transformer.knee_pu=1.15"))
    run.envelope.advance(run.state, 0.0, 30.0)
    ports = run.network.tables.ports
    for p in np.flatnonzero(ports.link >= 0):
        ports.x[ports.first[p]:ports.first[p + 1]] *= knee_share
    return run


def envelope_ramp(run):
    """Sixty seconds of start and running: time and work."""
    engine = run.envelope
    start = copy(run.state)

    def once():
        engine.counts[:] = 0
        engine.blocks.clear()
        state = copy(start)
        engine.restart(state)
        engine.advance(state, 0.0, 60.0)
    seconds = median_time(once)
    return seconds, int(engine.counts[WORK_ACCEPTED]), int(engine.counts[WORK_NEWTON])


def waveform_steps(run, span=0.2):
    """Steps of the chain at full speed: microseconds per step with the default storing."""
    state = to_waveform(run.network, run.state)
    engine = WaveformEngine(run.network, run.waveform.h, run.waveform.stride)
    engine.gear.pole_g[:] = run.network.tables.switches.g[:, None]
    engine.advance(state, 0.0, 0.02)
    first = engine.steps
    seconds = median_time(lambda: engine.advance(state, 0.02, 0.02 + span), 7)
    per_run = (engine.steps - first) / 7
    return seconds / per_run * 1e6, int(per_run)


def against_radau(run):
    """Ours and Radau from the same point: seconds and error of each."""
    network = run.network
    engine = EnvelopeEngine(network, run.case.study.tolerance_pu, 0.05)
    engine.closed[:] = run.envelope.closed
    start = copy(run.state)
    hold = network.tables.drives.data[0, DRIVE_HOLD]
    for a, b in ((0.0, hold), (hold, FROM)):           # no step straddles the kink at the end of the hold
        engine.restart(start)
        engine.advance(start, a, b)
    speed0 = start.r[:1].copy()

    def to_end(tolerance):
        ours = EnvelopeEngine(network, tolerance, 10.0)
        ours.closed[:] = engine.closed
        state = copy(start)
        ours.restart(state)
        ours.advance(state, FROM, TO)
        return state

    ode = SpaceVectorOde(network, engine.closed)
    exact = to_end(1e-10)

    def error(r):
        """Of the shaft speed: voltages and torque carry a ripple of trapped core flux that both methods damp."""
        return abs(r[0] / exact.r[0] - 1.0)

    tolerance = run.case.study.tolerance_pu
    ours = to_end(tolerance)
    ours_error = error(ours.r)
    ours_seconds = median_time(lambda: to_end(tolerance))
    # Radau starts from the same vector; its frame is at the source's angle as ours is
    y0 = np.concatenate([start.x.real, start.x.imag, speed0])
    scale = np.concatenate([np.maximum(np.abs(start.x), 1e-3)] * 2 + [np.abs(speed0)])
    for rtol in (1e-2, 1e-3, 1e-4, 1e-5, 1e-6):
        begin = time.perf_counter()
        answer = solve_ivp(ode, (FROM, TO), y0, method="Radau", jac=ode.jacobian, rtol=rtol, atol=rtol * scale)
        seconds = time.perf_counter() - begin
        radau_error = error(answer.y[2 * ode.n:, -1])
        if radau_error <= max(ours_error, 1e-12):
            break
    return ours_seconds, ours_error, seconds, radau_error, rtol


def command_time(arguments, cold=False, runs=3):
    """Whole process, warm or with an empty kernel cache. [s]"""
    with tempfile.TemporaryDirectory() as folder:
        environment = dict(os.environ)
        if cold:
            environment["STEPOUT_CACHE_DIR"] = folder
        command = [str(Path(sys.executable).with_name("stepout")), *[a.replace("DIR", folder) for a in arguments]]
        return median_time(lambda: subprocess.run(command, env=environment, check=True, capture_output=True),
                           1 if cold else runs)


def main():
    run = prepared()
    rows = []
    seconds, steps, newton = envelope_ramp(run)
    rows.append(("envelope, 60 s of start and running", f"{1e3 * seconds:.1f} ms", f"{steps} steps, {newton} Newton, "
                 f"{1e6 * seconds / steps:.1f} us a step"))
    per_step, count = waveform_steps(run)
    rows.append(("waveform, the same chain", f"{per_step:.2f} us a step", f"{count} steps of "
                 f"{1e6 * run.waveform.h:.1f} us"))
    for words, share in (("an arrester", 1.0), ("an arrester, cores beyond the knee", STRAINED)):
        per_step, count = waveform_steps(at_speed(share))
        rows.append((f"waveform, the same and {words}", f"{per_step:.2f} us a step", f"{count} steps"))
    ours, ours_error, theirs, theirs_error, rtol = against_radau(prepared())
    rows.append((f"envelope against Radau, {FROM:g} to {TO:g} s", f"{theirs / ours:.0f} x faster",
                 f"{1e3 * ours:.1f} ms at error {ours_error:.1e}; Radau {1e3 * theirs:.0f} ms at {theirs_error:.1e} "
                 f"(rtol {rtol:g})"))
    rows += closings.list_rows()
    full = ["run", str(CASE), "--out", "DIR/run.h5", "--plots", "DIR/plots"]
    rows.append(("stepout --help", f"{command_time(['--help']):.2f} s", "whole process"))
    rows.append(("stepout run quillfen, warm", f"{command_time(full):.2f} s", "with --out and --plots"))
    rows.append(("stepout run quillfen, cold", f"{command_time(full, cold=True):.1f} s", "kernels compiled first"))
    print(f"{platform.processor() or platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}, "
          f"numpy {np.__version__}")
    for name, value, remark in rows:
        print(f"  {name:<40s} {value:>14s}   {remark}")


if __name__ == "__main__":
    main()
