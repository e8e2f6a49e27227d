"""From one engine to the other: when the waveform engine is called for, and when nothing is left for it alone."""

import numpy as np

from sim.engines.handover import to_envelope, to_waveform
from sim.engines.iron import core_flux
from sim.engines.run.orders import SWITCHING, note_poles
from sim.engines.signals import envelope_stretch, waveform_stretch
from sim.engines.stored import stored_energy
from sim.engines.waveform.engine import NO_ZERO_AMPS
from sim.engines.waveform.thinning import thin

LEAD = 0.02             # the waveform engine takes over this long before a switch operates [s]
HOLD = 0.1              # and keeps the run at least this long after the last operation [s]
RIPPLE = 0.05           # change of a magnitude over one rated cycle below which offset currents count as gone
HOLD_MOST = 0.5         # longest wait for that [s]
SATURATED_MOST = 3.0    # and where the offset of a core's flux still takes limbs beyond their knee [s]
ZEROS_MOST = 10.0       # and where a breaker's current has no zeros [s]
SATURATED_ZERO = 1e-3   # share of the zero sequence that is left to limbs which saturate
ZERO_SEQUENCE = 1e-6    # share of the stored energy below which the zero sequence counts as gone
BASE_S = 1.0 / 314.0    # and of what the base power gives in this time [s]
CORE_MARGIN = 1.02      # a core's cycle in phases comes when its flux passes the knee by this factor
CORE_GROWTH = 1.15      # and again when it has grown by this one


def find_switching(run):
    """When a switch is next ordered to operate, None when it is not. [s]"""
    return next((order.t for order in run.pending if order.action in SWITCHING or
                 (order.action == "start" and run.is_live)), None)


def go_waveform(run, why):
    """Hand the run to the waveform engine, where the envelope engine has it and both may."""
    if run.engine == "envelope" and run.mode == "auto":
        hand_to_waveform(run, why)


def hand_to_waveform(run, why):
    close_stretch(run)
    before = run.energy_now
    run.state = to_waveform(run.network, run.state, run.envelope.closed)
    run.is_probe = False
    run.started_at += run.energy_now - before       # a saturated core's energy: mean over a turn against the moment
    run.waveform.gear.place(run.envelope.closed)
    run.engine = "waveform"
    run.quiet_from = run.t
    run.result.handovers.append({"t_s": run.t, "to": "waveform", "why": why})


def go_waveform_if_near(run):
    switching = find_switching(run)
    if switching is not None and run.is_live and run.t >= switching - LEAD - 1e-9:
        go_waveform(run, "a switch is about to operate")


def answer_core(run, k, _):
    """A core passed its knee: the envelope engine carries its fundamental only, so one cycle is run in phases.

    The next such cycle comes when the flux has grown by CORE_GROWTH, so that the highest flux is never further away.
    """
    b, limits = run.network.tables.cores.link[k], run.core_limits
    flux = core_flux(run.network.tables, run.state.x)[k]
    note = f"core of {run.network.link_names[b].partition('.')[0]} beyond its knee"
    if run.mode != "auto":
        pu = flux * run.network.link_w[b] / run.network.link_volts[b]
        limits[k] = np.inf
        run.result.warnings.append(f"{note} from t = {run.t:.3f} s, {pu:.2f} of rated flux: the envelope engine "
                                   "carries the fundamental of its current alone")
    else:
        limits[k] = CORE_GROWTH * flux
    run.core_limits = limits
    if run.mode == "auto":
        hand_to_waveform(run, note)
        run.is_probe = True
        run.quiet_from += max(0.0, 1.0 / run.present_hz[run.network.tables.links.island[b]] - HOLD)


def go_envelope_if_quiet(run):
    """Back to the envelope engine when nothing is left that it cannot carry."""
    note_poles(run)
    if run.mode != "auto" or run.t < max(run.quiet_from + HOLD, run.detail_until) - 1e-9:
        return
    if run.waveform.is_waiting(run.state):
        return
    upcoming = find_switching(run)
    if upcoming is not None and upcoming - run.t < LEAD + HOLD:
        return
    poles = run.waveform.gear.pole_g > 0.0
    balanced = (poles.all(axis=1) | ~poles.any(axis=1)).all()
    if not balanced or (not run.is_probe and not has_settled(run)):
        return
    close_stretch(run)
    before = run.energy_now
    run.state = to_envelope(run.network, run.state, run.t, poles.all(axis=1))
    run.started_at += run.energy_now - before
    run.envelope.closed = poles.all(axis=1).astype(np.int64)
    run.core_limits = np.maximum(run.core_limits, CORE_GROWTH * core_flux(run.network.tables, run.state.x))
    run.envelope.restart(run.state)
    run.engine = "envelope"
    run.result.handovers.append({"t_s": run.t, "to": "envelope", "why": "all poles at rest, zero sequence gone"})


def has_settled(run):
    """Whether offsets and zero sequence are gone; with limbs that saturate they take longer, and are waited for longer.

    Limbs draw a zero sequence of their own, which never goes while they saturate.
    """
    cycles = 2.0 * np.pi / run.network.tables.islands.w
    samples = run.waveform.recorder.latest(cycles.max())
    saturated = bool(np.any(samples.port[:, run.network.tables.ports.link >= 0]))
    most, share = (SATURATED_MOST, SATURATED_ZERO) if saturated else (HOLD_MOST, ZERO_SEQUENCE)
    if run.t < run.quiet_from + most and find_ripple(run, cycles) > RIPPLE:
        return False
    if run.t < run.quiet_from + ZEROS_MOST and lacks_zeros(run):
        return False
    zero = stored_energy(run.network, run.state.x * np.array([[0.0], [0.0], [1.0]]))
    if zero > share * (run.energy_now + run.network.power * BASE_S):
        run.quiet_from = run.t
        return False
    return True


def lacks_zeros(run):
    """Whether a pole carried its current without a zero over the last cycle of its island, where a source is live.

    What is left of a current behind a supply that has gone only dies away, which the envelope engine carries too.
    """
    hz, tables = run.present_hz, run.network.tables
    islands = tables.nodes.island[tables.switches.start]
    for island in np.intersect1d(islands, tables.sources.island[run.sources_on]):
        poles = run.waveform.recorder.latest(1.0 / hz[island]).pole[:, islands == island]
        if np.any((poles.min(axis=0) > NO_ZERO_AMPS) | (poles.max(axis=0) < -NO_ZERO_AMPS)):
            return True
    return False


def find_ripple(run, cycles):
    """Largest change of a voltage or machine current magnitude over the last rated cycle of its island, per unit."""
    tables, worst = run.network.tables, 0.0
    for island, cycle in enumerate(cycles):
        samples = run.waveform.recorder.latest(cycle)
        nodes, machines = tables.nodes.island == island, tables.machines.island == island
        volts = np.hypot(samples.v[:, 0, nodes], samples.v[:, 1, nodes]) / run.network.node_volts[nodes]
        amps = np.abs(samples.stator[:, machines]) / run.network.machine_amps[machines]
        worst = max([worst, *(float(np.ptp(values, axis=0).max()) for values in (volts, amps) if values.size)])
    return worst


def close_stretch(run):
    """Turn the samples since the last hand-over into a stretch."""
    if run.engine == "envelope":
        samples = run.envelope.joined()
        if samples is not None:
            run.result.stretches.append(envelope_stretch(run.network, samples))
        return
    samples = run.waveform.recorder.joined()
    run.waveform.recorder.blocks = []
    if samples is not None:
        if run.mode == "auto":      # who asks for waveforms throughout gets every stored point
            samples = thin(run.network, samples, run.waveform.stride * run.waveform.h)
        run.result.stretches.append(waveform_stretch(run.network, samples))
