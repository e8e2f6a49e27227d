"""What a run answers when a drive or its front end has to be told something."""

import numpy as np

from sim.engines.run.orders import Order
from sim.kernels import columns as c
from sim.kernels.control import drive, front

TRIPS = {drive.STALLED: ("at its current limit for too long",
                         "drive at its current limit for longer than its stall time"),
         drive.OVERLOADED: ("overload spent", "drive overload spent"),
         drive.OVERCURRENT: ("overcurrent", "overcurrent of the drive"),
         drive.UNDERVOLTAGE: ("direct voltage too low", "undervoltage of the drive's direct-voltage link")}


ATTEMPTS = 3            # a front end that gave up takes up its work so often (common practice)


def answer(run, l, alarm):
    """Mark an alarm of drive l and set its control; True when its pulses are to be blocked."""
    if alarm in TRIPS or alarm == drive.STOPPED:
        run.network.tables.sources.data[l, c.DRIVE_STALL] = np.inf      # it has been told
        if alarm in TRIPS:
            _trip(run, l, *TRIPS[alarm])
        else:
            run.mark(run.t, "stop", run.network.drive_names[l], f"{run.network.drive_names[l]} stops")
        return True
    if alarm in (drive.CAUGHT, drive.LOST):
        _end_search(run, l, alarm == drive.CAUGHT)
    else:
        _tell_front(run, l, alarm - c.FRONT_FIRST)
    return False


def _trip(run, l, said, cause):
    name, record = run.network.drive_names[l], run.case.drives[l]
    run.mark(run.t, "trip", name, f"{name} trips: {said}")
    run.trips[l] = run.t, cause
    done = sum(mark.kind == "trip" and mark.target == name for mark in run.result.marks)
    if record.restart_delay_s is not None and done <= record.restarts:
        run.pending.append(Order(run.t + record.restart_delay_s, "start", name, None))
        run.pending.sort(key=lambda order: order.t)


def _end_search(run, l, found):
    """From here the voltage comes up from what the search worked with, at the frequency it found."""
    name, data, state = run.network.drive_names[l], run.network.tables.sources.data[l], run.drives[l]
    data[c.DRIVE_SEARCH] = 0.0
    state[c.X_STALL] = 0.0
    state[c.X_CLOCK] = data[c.DRIVE_SEARCH_SHARE] * data[c.DRIVE_RISE] if found else 0.0
    state[c.X_RATE] = 0.0
    run.kinks += [run.t + data[c.DRIVE_HOLD] - state[c.X_CLOCK], run.t + data[c.DRIVE_RISE] - state[c.X_CLOCK]]
    run.mark(run.t, "catch", name, f"{name} catches the motor at {state[c.X_HZ]:.1f} Hz" if found
             else f"{name} finds no turning motor")


def _tell_front(run, l, alarm):
    """A front end takes up its work or gives it up."""
    name, data, state = run.network.drive_names[l], run.network.tables.sources.data[l], run.drives[l]
    state[c.X_POWER] = 0.0
    if alarm == front.BRIDGED:
        data[c.FRONT_CHARGING] = 0.0
        run.mark(run.t, "charged", name, f"{name} bridges its charging resistor")
        return
    data[c.FRONT_ACTIVE] = float(alarm == front.TAKEN_UP)
    said = "takes up its work" if alarm == front.TAKEN_UP else "gives up: supply voltage too low"
    done = sum(mark.kind == "front_end" and mark.target == name for mark in run.result.marks)
    if alarm == front.GIVEN_UP and done >= 2 * ATTEMPTS:
        data[c.FRONT_RECTIFIER], said = 1.0, "gives up for good"
    run.mark(run.t, "front_end", name, f"front end of {name} {said}")
