"""Orders: what is asked of breakers, faults, drives and machines, and how a run carries it out."""

from typing import Any, NamedTuple

from sim.kernels.columns import (
    DRIVE_HOLD,
    DRIVE_REST,
    DRIVE_RISE,
    DRIVE_SEARCH,
    DRIVE_STALL,
    DRIVE_START_HZ,
    DRIVE_STOPPING,
    X_ENERGY,
    X_HEAT,
    X_HZ,
)

PATIENCE = 1.0          # pulses never settle: after a span in detail nothing is waited for [s]
ADVANCED = ("close", "fault")       # begin a little early, so that the middle of the front is on time
SWITCHING = ("open", "close", "stop", "fault", "clear", "detail")


class Order(NamedTuple):
    """When it is carried out [s], what is asked, of which component, and the event or fault it comes from."""

    t: float
    action: str
    target: str
    source: Any


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
    ORDERS[order.action](run, order.target, order.source)


def operate(run, switch, closing):
    """Close or open a switch in whichever engine has the run."""
    if run.engine == "waveform":
        if closing:
            run.waveform.close(run.state, switch, run.t)
        else:
            run.waveform.open(switch, run.t)
        run.quiet_from, run.is_probe = run.t, False
        return
    if not closing and run.is_live:
        run.result.warnings.append(f"{run.network.switch_names[switch]} opened at t = {run.t:.3f} s without waiting "
                                   "for current zeros: the envelope engine does not assess peaks after it")
        if run.last_peak is None:
            run.last_peak = run.state.peak.copy()
    run.envelope.closed[switch] = int(closing)


def _order_switch(run, target, event):
    closing = event.action == "close"
    run.mark(event.at_s, event.action, target, f"{target} {'closes' if closing else 'opens'}")
    operate(run, run.network.switch_names.index(target), closing)


def _order_detail(run, target, end):
    """Phases and pulses until a moment, every step stored: what is left out would alias with the carrier."""
    run.detail_until = run.waveform.dense_until = max(run.detail_until, end)
    run.quiet_from -= PATIENCE


def _order_fault(run, target, fault):
    run.mark(fault.at_s, "fault", target, f"{target}: {describe_fault(fault)}")
    operate(run, run.network.switch_names.index(target), True)


def _order_clear(run, target, fault):
    run.mark(fault.clear_s, "fault_cleared", target, f"{target} goes out")
    operate(run, run.network.switch_names.index(target), False)


def describe_fault(fault):
    """A fault in the trade's words: "phase a to earth", "phases b and c"."""
    phases = {1: "phase", 2: "phases", 3: "three phases"}[len(fault.phases)]
    named = phases if len(fault.phases) == 3 else f"{phases} {' and '.join(fault.phases)}"
    return f"{named} to earth" if fault.earth else named


def _order_start(run, target, event):
    l = run.network.drive_names.index(target)
    record, data, state = run.case.drives[l], run.network.tables.sources.data[l], run.drives[l]
    spent = state[X_HEAT] - (run.t - find_end(run, target)) / data[DRIVE_REST]
    state[:X_ENERGY] = 0.0
    state[X_HEAT] = max(spent, 0.0)
    if data[DRIVE_STOPPING]:                            # a ramp down has moved the target
        run.state.target_hz[l] = run.network.target_hz[l]
    data[DRIVE_SEARCH], data[DRIVE_STOPPING] = float(record.catch_spinning), 0.0
    state[X_HZ] = run.network.target_hz[l] if record.catch_spinning else data[DRIVE_START_HZ]
    run.state.drive_on[l] = 1
    data[DRIVE_STALL] = record.stall_s                  # a trip has stopped the timer
    run.kinks += [run.t + data[DRIVE_HOLD], run.t + data[DRIVE_RISE]]
    run.mark(run.t, "start", target, f"{target} starts")
    operate(run, run.network.switch_names.index(target), True)


def find_end(run, name):
    """When a drive was last stopped or tripped, the start of the run if never. [s]"""
    return max((mark.t for mark in run.result.marks if mark.target == name and mark.kind in ("stop", "trip")),
               default=0.0)


def _order_stop(run, target, event):
    run.mark(run.t, "stop", target, f"{target} stops")
    operate(run, run.network.switch_names.index(target), False)
    if run.engine == "envelope":
        run.state.drive_on[run.network.drive_names.index(target)] = 0


def _order_ramp_down(run, target, event):
    l = run.network.drive_names.index(target)
    run.network.tables.sources.data[l, DRIVE_STOPPING] = 1.0
    run.state.target_hz[l] = run.network.tables.sources.data[l, DRIVE_START_HZ]
    run.mark(run.t, "ramp_down", target, f"{target} ramps down")


def _order_speed(run, target, event):
    run.state.target_hz[run.network.drive_names.index(target)] = event.to_hz
    run.mark(run.t, "speed", target, f"{target} to {event.to_hz:g} Hz")


def _order_load(run, target, event):
    run.state.load_factor[run.network.machine_names.index(target)] = event.load_pu
    run.mark(run.t, "load", target, f"{target} load {100 * event.load_pu:g} %")


ORDERS = {"detail": _order_detail, "open": _order_switch, "close": _order_switch, "fault": _order_fault,
          "clear": _order_clear, "start": _order_start, "stop": _order_stop, "ramp_down": _order_ramp_down,
          "speed": _order_speed, "load": _order_load}


def note_poles(run):
    """Marks of poles that moved; a drive whose poles are all open is off."""
    gear = run.waveform.gear
    marks, gear.marks = gear.marks, []
    for t, kind, q, phase in marks:
        name = run.network.switch_names[q]
        run.quiet_from = max(run.quiet_from, t)
        if name in run.network.drive_names:
            if kind == "pole_open":
                run.mark(t, kind, name, f"{name} pole {'abc'[phase]} opens")
            if not gear.pole_g[q].any() and not gear.is_moving():
                run.state.drive_on[run.network.drive_names.index(name)] = 0
        else:
            run.mark(t, kind, name, f"{name} {DEEDS[q in run.network.faults, kind].format('abc'[phase])}")


DEEDS = {(False, "bypass"): "pole {} is bypassed", (False, "pole_close"): "pole {} closes",
         (False, "pole_open"): "pole {} opens",
         (False, "reignition"): "pole {} re-ignites", (True, "pole_close"): "strikes on phase {}",
         (True, "pole_open"): "arc on phase {} goes out"}
