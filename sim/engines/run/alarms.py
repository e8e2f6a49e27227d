"""What a run answers when a drive or its front end has to be told something."""

from sim.engines.run.changeover import go_waveform
from sim.engines.run.orders import RESTART, Order, operate
from sim.kernels import columns as c
from sim.kernels.control import drive, front

TRIPS = {drive.STALLED: ("at its current limit for too long",
                         "drive at its current limit for longer than its stall time"),
         drive.OVERLOADED: ("overload spent", "drive overload spent"),
         drive.OVERCURRENT: ("overcurrent", "overcurrent of the drive"),
         drive.UNDERVOLTAGE: ("direct voltage too low", "undervoltage of the drive's direct-voltage link")}
ATTEMPTS = 3            # a front end that gave up takes up its work so often (common practice)
RAMPED_DOWN = "its ramp down ended"


def answer_drive(run, l, code):
    """A drive has to be told something: a trip, the end of its ramp down, or of its search."""
    if code in TRIPS:
        said, cause = TRIPS[code]
        _trip(run, l, said, cause)
        block(run, l, cause, ordered=False)
    elif code == drive.STOPPED:
        name = run.network.drive_names[l]
        run.record(run.t, "stop", name, f"{name} stops", RAMPED_DOWN)
        block(run, l, RAMPED_DOWN, ordered=True)
    else:
        _end_search(run, l, code == drive.CAUGHT)


def block(run, l, why, ordered):
    """Block the pulses of a drive: they stop at the next current zeros."""
    run.drives[l, c.X_TOLD] = 1.0
    go_waveform(run, f"{run.network.drive_names[l]} blocks its pulses")
    operate(run, run.network.switch_names.index(run.network.drive_names[l]), False, why, ordered)
    if run.engine == "envelope":
        run.state.drive_on[l] = 0


def _trip(run, l, said, cause):
    name, record = run.network.drive_names[l], run.case.drives[l]
    run.record(run.t, "trip", name, f"{name} trips: {said}", cause, False)
    run.trips[l] = run.t, cause
    done = sum(event.what == "trip" and event.where == name for event in run.result.events)
    if record.restart_delay_s is not None and done <= record.restarts:
        run.pending.append(Order(run.t + record.restart_delay_s, "start", name, None, RESTART))
        run.pending.sort(key=lambda order: order.t)


def _end_search(run, l, found):
    """From here the voltage comes up from what the search worked with, at the frequency it found."""
    name, data, state = run.network.drive_names[l], run.network.tables.drives.data[l], run.drives[l]
    state[c.X_SEARCHES], state[c.X_STALL], state[c.X_RATE] = 0.0, 0.0, 0.0
    state[c.X_CLOCK] = data[c.DRIVE_SEARCH_SHARE] * data[c.DRIVE_RISE] if found else 0.0
    run.kinks += [run.t + data[c.DRIVE_HOLD] - state[c.X_CLOCK], run.t + data[c.DRIVE_RISE] - state[c.X_CLOCK]]
    said = f"catches the motor at {state[c.X_HZ]:.1f} Hz" if found else "finds no turning motor"
    run.record(run.t, "catch", name, f"{name} {said}", "the current turned to its voltage" if found
               else "the search reached its first frequency", False)


def answer_front(run, l, code):
    """A front end takes up its work or gives it up."""
    name, state = run.network.drive_names[l], run.drives[l]
    state[c.X_POWER] = 0.0
    if code == front.BRIDGED:
        state[c.X_CHARGES] = 0.0
        run.record(run.t, "charged", name, f"{name} bridges its charging resistor", "link charged", False)
        return
    state[c.X_CONTROLLED] = float(code == front.TAKEN_UP)
    said, why = (("takes up its work", "supply voltage is back") if code == front.TAKEN_UP else
                 ("gives up: supply voltage too low", "supply voltage too low"))
    done = sum(event.what == "front_end" and event.where == name for event in run.result.events)
    if code == front.GIVEN_UP and done >= 2 * ATTEMPTS:
        state[c.X_DIODES], said = 1.0, "gives up for good"
    run.record(run.t, "front_end", name, f"front end of {name} {said}", why, False)
