"""Synthetic cases and runs: signals with closed forms, so that every expected number can be derived."""

from types import SimpleNamespace

import numpy as np

from sim.results.run import Event, MachineOutcome, RunResult, Stretch

BASE = 6600.0
RATED_SPEED = 4.0 * np.pi * 50.0 / 4 * 0.99
RATED_TORQUE = 2.0e6 / RATED_SPEED


def make_node(name, nominal=BASE, island=0, um=None, withstand=None):
    return SimpleNamespace(name=name, nominal_v=nominal, um_v=um, lightning_withstand_v=withstand,
                           stray_f=1e-9, island=island, frequency_hz=50.0)


def make_machine(name="booster", node="motor_bus", breakaway=0.3, load=1.0):
    motor = SimpleNamespace(rated_w=2.0e6, rated_v=BASE, frequency_hz=50.0, poles=4,
                            rated_speed_rad_per_s=RATED_SPEED, rated_torque_nm=RATED_TORQUE,
                            rated_current_a=200.0)
    pump = SimpleNamespace(kind="pump", duty_torque_nm=RATED_TORQUE, duty_speed_rad_per_s=RATED_SPEED,
                           breakaway_pu=breakaway, load_pu=load, constant_pu=0.0, torque_pu=[], speed_pu=[])
    return SimpleNamespace(name=name, node=node, motor=motor, load=pump,
                           shaft=SimpleNamespace(inertia_kgm2=100.0))


def make_drive(name="host_drive", node="host", target=50.0):
    return SimpleNamespace(name=name, node=node, rated_v=BASE, rated_va=3.0e6, frequency_hz=50.0,
                           target_hz=target)


def make_event(action, target, at, **more):
    return SimpleNamespace(action=action, target=target, at_s=at, **more)


def make_breaker(name="feeder_breaker", source="host", end="motor_bus", closed=True, **more):
    return SimpleNamespace(name=name, from_node=source, to_node=end, closed=closed, **more)


def make_case(**parts):
    """A grid at `host`, a breaker, one machine at `motor_bus`; any list can be replaced."""
    lists = {"nodes": [make_node("host"), make_node("motor_bus")],
             "grids": [SimpleNamespace(name="shore", node="host", frequency_hz=50.0)],
             "drives": [], "transformers": [], "cables": [], "breakers": [make_breaker()], "shunts": [],
             "machines": [make_machine()], "events": [], "warnings": [], "used": {},
             "criteria": SimpleNamespace()}
    return SimpleNamespace(name="synthetic", sha256="0" * 64, **(lists | parts))


def make_drive_case(target=50.0, **parts):
    """The same with a drive at `host` in place of the grid."""
    return make_case(**({"grids": [], "drives": [make_drive(target=target)]} | parts))


def make_phases(t, rms_line, f=50.0, angle=0.0, phase=None):
    """Balanced phase-to-earth voltages of a line-to-line RMS value; `phase` [rad] replaces 2 pi f t."""
    turn = 2.0 * np.pi * f * t if phase is None else phase
    crest = np.sqrt(2.0 / 3.0) * rms_line
    return {f"voltage_{name}": crest * np.sin(turn + angle - 2.0 * np.pi * k / 3.0)
            for k, name in enumerate("abc")}


def make_stretch(t, signals, engine="envelope", frequency=50.0):
    """One stretch; `frequency` is that of the drive, where the case has one."""
    hz = np.broadcast_to(np.asarray(frequency, float), t.shape).copy()
    return Stretch(engine, t, signals | {"host_drive": signals.get("host_drive", {}) | {"frequency": hz}})


def make_run(case, *stretches, outcome=None, events=(), **more):
    """A run with one machine's outcome, which defaults to "moved and never tripped".

    As in every log of an engine each drive has its start there: at 0 where `events` holds none.
    """
    machines = {machine.name: outcome or make_outcome() for machine in case.machines}
    started = {event.where for event in events if event.what == "start"}
    starts = [Event(0.0, "start", drive.name, f"{drive.name} starts", value=drive.target_hz) for drive in case.drives
              if drive.name not in started]
    return RunResult(case=case, stretches=list(stretches), machines=machines, events=[*starts, *events], **more)


def make_outcome(locked=False, moved=True, energised=True, available=0.0, tripped=None, reason=None):
    return MachineOutcome(locked, moved, energised, available, tripped, reason)


def make_motor_signals(t, speed, torque=None, load=None, current=200.0):
    full = np.full(len(t), 1.0)
    return {"speed": speed, "torque": full * (0.0 if torque is None else torque),
            "load_torque": full * (0.0 if load is None else load), "current": full * current}


def make_envelope(case, t, speed, voltage=BASE, frequency=50.0, **motor):
    """One envelope stretch with the same voltage at every node and one machine turning."""
    signals = {node.name: {"voltage": np.broadcast_to(np.asarray(voltage, float), t.shape).copy()}
               for node in case.nodes}
    signals |= {machine.name: make_motor_signals(t, speed, **motor) for machine in case.machines}
    return make_stretch(t, signals, frequency=frequency)


T0_TO_10 = make_stretch(np.array([0.0, 10.0]), {})
