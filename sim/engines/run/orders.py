"""Orders: what is asked of breakers, faults, drives and machines, and how a run carries it out."""

from typing import Any, NamedTuple

from sim.engines.waveform.engine import copy_state
from sim.kernels.columns import (
    DRIVE_HOLD,
    DRIVE_REST,
    DRIVE_RISE,
    DRIVE_START_HZ,
    X_ENERGY,
    X_HEAT,
    X_HZ,
    X_SEARCHES,
    X_STOPS,
    X_TOLD,
)
from sim.results.run import Held

PATIENCE = 1.0          # pulses never settle: after a span in detail nothing is waited for [s]
ADVANCED = ("close", "fault")       # begin a little early, so that the middle of the front is on time
SWITCHING = ("open", "close", "stop", "fault", "clear", "detail")
RESTART = "restart after a trip"


class Order(NamedTuple):
    """When it is carried out [s], what is asked, of which component, the event or fault it comes from, and why."""

    t: float
    action: str
    target: str
    source: Any
    why: str = "ordered"


def list_orders(case, advance):
    """All orders in time; a drive without a start order starts at 0.

    Parameters
    ----------
    case : CheckedCase
    advance : float
        How long before its order a contact begins to close. [s]
    """
    orders = [Order(event.at_s, event.action, event.target, event) for event in case.events]
    orders += [Order(fault.at_s, "fault", fault.name, fault) for fault in case.faults]
    orders += [Order(fault.clear_s, "clear", fault.name, fault) for fault in case.faults if fault.clear_s is not None]
    started = {event.target for event in case.events if event.action == "start"}
    orders += [Order(0.0, "start", drive.name, None) for drive in case.drives if drive.name not in started]
    orders += [Order(begin, "detail", "", end) for begin, end in case.study.detail_s]
    early = (order._replace(t=max(0.0, order.t - advance)) if order.action in ADVANCED else order for order in orders)
    return sorted(early, key=lambda order: order.t)


def carry_out(run, order):
    """Do what an order asks."""
    ORDERS[order.action](run, order)


def operate(run, switch, closing, why="ordered", ordered=True):
    """Close or open a switch in whichever engine has the run; the log gives its poles this cause."""
    run.causes[switch] = why, ordered
    if run.engine == "waveform":
        if closing:
            run.waveform.close(run.state, switch, run.t)
        else:
            hold_state(run, switch)
            run.waveform.open(switch, run.t, bool(run.sources_on.any()))
        run.quiet_from, run.is_probe = run.t, False
        return
    if not closing and run.is_live:
        run.result.warnings.append(f"{run.network.switch_names[switch]} opened at t = {run.t:.3f} s without waiting "
                                   "for current zeros: the envelope engine does not assess peaks after it")
        if run.last_peak is None:
            run.last_peak = run.state.peak.copy()
        run.envelope.interrupt(run.state, switch)
    run.envelope.closed[switch] = int(closing)


def hold_state(run, switch):
    """Keep the state ahead of the first opening of a breaker whose gap has its strength given."""
    name = run.network.switch_names[switch]
    if name in run.network.surges and name not in run.result.held and run.waveform.gear.pole_g[switch].any():
        run.result.held[name] = Held(run.t, copy_state(run.state), run.waveform.gear.pole_g.copy())


def _order_switch(run, order):
    closing = order.action == "close"
    run.record(order.source.at_s, order.action, order.target, f"{order.target} {'closes' if closing else 'opens'}")
    operate(run, run.network.switch_names.index(order.target), closing)


def _order_detail(run, order):
    """Phases and pulses until a moment, every step stored: what is left out would alias with the carrier."""
    run.detail_until = run.waveform.dense_until = max(run.detail_until, order.source)
    run.quiet_from -= PATIENCE


def _order_fault(run, order):
    run.record(order.source.at_s, "fault", order.target, f"{order.target}: {describe_fault(order.source)}")
    operate(run, run.network.switch_names.index(order.target), True)


def _order_clear(run, order):
    run.record(order.source.clear_s, "fault_cleared", order.target, f"{order.target} goes out")
    operate(run, run.network.switch_names.index(order.target), False)


def describe_fault(fault):
    """A fault in the trade's words: "phase a to earth", "phases b and c"."""
    phases = {1: "phase", 2: "phases", 3: "three phases"}[len(fault.phases)]
    named = phases if len(fault.phases) == 3 else f"{phases} {' and '.join(fault.phases)}"
    return f"{named} to earth" if fault.earth else named


def _order_start(run, order):
    l = run.network.drive_names.index(order.target)
    record, data, state = run.case.drives[l], run.network.tables.drives.data[l], run.drives[l]
    spent = state[X_HEAT] - (run.t - find_end(run, order.target)) / data[DRIVE_REST]
    state[:X_ENERGY] = 0.0
    state[X_HEAT] = max(spent, 0.0)
    if state[X_STOPS]:                                  # a ramp down has moved the target
        run.state.target_hz[l] = run.network.target_hz[l]
    state[X_SEARCHES], state[X_STOPS], state[X_TOLD] = float(record.catch_spinning), 0.0, 0.0
    state[X_HZ] = run.network.target_hz[l] if record.catch_spinning else data[DRIVE_START_HZ]
    run.state.drive_on[l] = 1
    run.kinks += [run.t + data[DRIVE_HOLD], run.t + data[DRIVE_RISE]]
    asked = order.why != RESTART
    run.record(run.t, "start", order.target, f"{order.target} starts", order.why, asked, value=run.state.target_hz[l])
    operate(run, run.network.switch_names.index(order.target), True, order.why, asked)


def find_end(run, name):
    """When a drive was last stopped or tripped, the start of the run if never. [s]"""
    return max((event.t for event in run.result.events if event.where == name and event.what in ("stop", "trip")),
               default=0.0)


def _order_stop(run, order):
    l = run.network.drive_names.index(order.target)
    run.record(run.t, "stop", order.target, f"{order.target} stops")
    run.drives[l, X_TOLD] = 1.0
    operate(run, run.network.switch_names.index(order.target), False)
    if run.engine == "envelope":
        run.state.drive_on[l] = 0


def _order_ramp_down(run, order):
    l = run.network.drive_names.index(order.target)
    run.drives[l, X_STOPS] = 1.0
    run.state.target_hz[l] = run.network.tables.drives.data[l, DRIVE_START_HZ]
    run.record(run.t, "ramp_down", order.target, f"{order.target} ramps down", value=run.state.target_hz[l])


def _order_speed(run, order):
    run.state.target_hz[run.network.drive_names.index(order.target)] = order.source.to_hz
    run.record(run.t, "speed", order.target, f"{order.target} to {order.source.to_hz:g} Hz", value=order.source.to_hz)


def _order_load(run, order):
    factor = order.source.load_pu
    run.state.load_factor[run.network.machine_names.index(order.target)] = factor
    run.record(run.t, "load", order.target, f"{order.target} load {100 * factor:g} %", value=factor)


ORDERS = {"detail": _order_detail, "open": _order_switch, "close": _order_switch, "fault": _order_fault,
          "clear": _order_clear, "start": _order_start, "stop": _order_stop, "ramp_down": _order_ramp_down,
          "speed": _order_speed, "load": _order_load}


def note_poles(run):
    """Enter the poles that moved into the log; a drive whose poles are all open is off."""
    gear = run.waveform.gear
    moved, gear.moved = gear.moved, []
    for t, what, q, phase in moved:
        name = run.network.switch_names[q]
        why, ordered = run.causes.get(q, ("ordered", True))
        if what == "reignition":
            why, ordered = "recovery voltage beyond the strength of the gap", False
        run.quiet_from = max(run.quiet_from, t)
        if name in run.network.drive_names:
            if what == "pole_open":
                run.record(t, what, name, f"{name} pole {'abc'[phase]} opens", why, ordered, "abc"[phase])
            if not gear.pole_g[q].any() and not gear.is_moving():
                run.state.drive_on[run.network.drive_names.index(name)] = 0
        else:
            deed = DEEDS[q in run.network.faults, what].format("abc"[phase])
            run.record(t, what, name, f"{name} {deed}", why, ordered, "abc"[phase])


DEEDS = {(False, "bypass"): "pole {} is bypassed", (False, "pole_close"): "pole {} closes",
         (False, "pole_open"): "pole {} opens",
         (False, "reignition"): "pole {} re-ignites", (True, "pole_close"): "strikes on phase {}",
         (True, "pole_open"): "arc on phase {} goes out"}
