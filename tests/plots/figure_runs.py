"""Stand-ins for stored runs: signals with closed forms, shaped like those of the engines."""

from types import SimpleNamespace

import numpy as np

from sim.results.run import Event, Peak, Stretch

POLES = 4
SYNCHRONOUS = 4.0 * np.pi * 50.0 / POLES
RATED_SPEED = 0.99 * SYNCHRONOUS
RATED_TORQUE = 2.3e6 / RATED_SPEED
RATED_CURRENT = 241.0
SHIFTS = {"a": 0.0, "b": -2.0 * np.pi / 3.0, "c": 2.0 * np.pi / 3.0}
CREST = np.sqrt(2.0 / 3.0)


class SyntheticRun:
    """A run as the figures see it: summary, stretches, events, peaks and whole signals."""

    def __init__(self, case, stretches, events=(), peaks=None, summary=None, label="synthetic"):
        self.case, self.stretches, self.events = case, list(stretches), list(events)
        self.peaks, self.summary, self.label = peaks or {}, summary or {}, label

    def signal(self, name, quantity):
        parts = [(stretch.t, stretch.signals[name][quantity]) for stretch in self.stretches
                 if quantity in stretch.signals.get(name, {})]
        if not parts:
            raise KeyError(f"{name}.{quantity}")
        return tuple(np.concatenate(column) for column in zip(*parts))


def make_node(name, nominal, um=None, withstand=None):
    return SimpleNamespace(name=name, nominal_v=nominal, um_v=um, lightning_withstand_v=withstand, island=0,
                           frequency_hz=50.0, stray_f=1e-9)


def make_circuit():
    """Textbook-like values in ohm for 2.3 MW at 6.6 kV; rotor branch taken for standstill."""
    return SimpleNamespace(stator_resistance_ohm=0.11, stator_reactance_ohm=1.45,
                           magnetising_reactance_ohm=53.0, rotor_resistance_ohm=0.3, rotor_reactance_ohm=1.45,
                           second_rotor_resistance_ohm=None, second_rotor_reactance_ohm=None)


def make_machine(name="booster", node="motor_bus", breakaway=0.3):
    motor = SimpleNamespace(rated_w=2.3e6, rated_v=6600.0, frequency_hz=50.0, poles=POLES,
                            rated_speed_rad_per_s=RATED_SPEED, rated_torque_nm=RATED_TORQUE,
                            rated_current_a=RATED_CURRENT, circuit=make_circuit())
    load = SimpleNamespace(kind="pump", duty_torque_nm=RATED_TORQUE, duty_speed_rad_per_s=RATED_SPEED,
                           breakaway_pu=breakaway, load_pu=1.0, constant_pu=0.0, torque_pu=[], speed_pu=[])
    return SimpleNamespace(name=name, node=node, motor=motor, load=load)


def make_drive(name="host_drive", node="host"):
    return SimpleNamespace(name=name, node=node, rated_v=3300.0, rated_va=3.6e6, frequency_hz=50.0,
                           target_hz=50.0, current_limit_pu=1.1, boost_pu=0.02, boost_end_hz=10.0, voltage_max_pu=1.0,
                           front_end=None)


def make_link(name, source, end, **more):
    return SimpleNamespace(name=name, from_node=source, to_node=end, **more)


def make_event(action, target, at):
    return SimpleNamespace(action=action, target=target, at_s=at)


def make_drive_case(**parts):
    """A drive, the feeder breaker, an umbilical, a step-down and a booster; any part can be replaced."""
    nodes = [make_node("host", 3300.0), make_node("feeder_host", 33000.0, um=36000.0),
             make_node("feeder_end", 33000.0, um=36000.0, withstand=170000.0), make_node("motor_bus", 6600.0)]
    lists = {"title": "Quillfen: boosted start over 28 km", "nodes": nodes, "grids": [],
             "drives": [make_drive()], "machines": [make_machine()], "shunts": [],
             "cables": [make_link("umbilical", "feeder_host", "feeder_end", ampacity_a=250.0)],
             "transformers": [make_link("step_down", "feeder_end", "motor_bus")],
             "breakers": [make_link("feeder_breaker", "host", "feeder_host", closed=True)],
             "events": [make_event("open", "feeder_breaker", 27.0)],
             "study": SimpleNamespace(duration_s=30.0)}
    return SimpleNamespace(name="quillfen", **(lists | parts))


def make_grid_case(**parts):
    """A grid, an umbilical and a booster behind its own breaker, which closes at 0.2 s."""
    nodes = [make_node("host", 33000.0, um=36000.0), make_node("feeder_end", 33000.0, um=36000.0),
             make_node("motor_bus", 6600.0)]
    lists = {"title": "Morrowgate: direct start over 45 km", "nodes": nodes,
             "grids": [SimpleNamespace(name="shore", node="host", rated_v=33000.0, frequency_hz=50.0)],
             "drives": [], "machines": [make_machine()], "shunts": [], "transformers": [],
             "cables": [make_link("umbilical", "host", "feeder_end", ampacity_a=None)],
             "breakers": [make_link("motor_breaker", "feeder_end", "motor_bus", closed=False)],
             "events": [make_event("close", "motor_breaker", 0.2)], "study": SimpleNamespace(duration_s=3.0)}
    return SimpleNamespace(name="morrowgate", **(lists | parts))


def make_row(id, where, value, limit, level="pass", reason=None):
    return {"id": id, "where": where, "value": value, "limit": limit, "level": level, "reason": reason}


def make_summary(verdict="starts", criteria=(), sentence=None, **motor):
    entry = {"outcome": "accelerated", "time_to_speed_s": 23.6, "final_speed_rpm": 1485.0,
             "final_speed_pct": 100.0, "min_accelerating_torque_pct": 6.0,
             "min_accelerating_torque_at_pct": 60.0, "breakaway_torque_available_pct": 131.0,
             "trip_reason": None} | motor
    sentence = sentence or f"{verdict}: booster reaches 95 % of rated speed in 23.6 s"
    return {"verdict": verdict, "sentence": sentence, "motors": {"booster": entry},
            "criteria": list(criteria), "data_grade": "C", "stepout_version": "0.1.0",
            "case_sha256": "3f9a" * 16}


def pump_torque(speed):
    """Breakaway 30 %, a dip at 15 % speed, then the square of speed. [N m]"""
    x = speed / RATED_SPEED
    return RATED_TORQUE * np.where(x < 0.15, 0.3 - 0.22 * x / 0.15, 0.08 + 0.92 * (x - 0.15) ** 2 / 0.7225)


def make_drive_signals(t):
    """A ramp of 2 Hz/s after half a second at 1.5 Hz, the motor following with a little slip."""
    f = np.clip(1.5 + 2.0 * (t - 0.5), 1.5, 50.0)
    moving, rise = t > 0.4, np.minimum(t / 0.4, 1.0)
    speed = np.where(moving, SYNCHRONOUS * (f / 50.0 - 0.01), 0.0).clip(0.0)
    load = np.where(moving, pump_torque(speed), 0.3 * RATED_TORQUE)
    torque = (load + 0.06 * RATED_TORQUE * (moving & (f < 50.0))) * rise
    level = np.minimum(1.0, 0.03 + 0.97 * f / 50.0) * rise
    current = np.hypot(0.35 * rise, 0.9 * torque / RATED_TORQUE) * RATED_CURRENT
    shares = {"host": 1.0, "feeder_host": 0.985, "feeder_end": 0.96, "motor_bus": 0.93}
    nominal = {"host": 3300.0, "feeder_host": 33000.0, "feeder_end": 33000.0, "motor_bus": 6600.0}
    signals = {name: {"voltage": share * level * nominal[name]} for name, share in shares.items()}
    signals["booster"] = {"speed": speed, "torque": torque, "load_torque": load, "current": current}
    signals["host_drive"] = {"frequency": f, "current": 2.1 * current + 90.0 * f / 50.0}
    signals["umbilical"] = {"current_from": 0.24 * current, "current_to": 0.2 * current}
    return signals, f


def make_phases(t, crest, stem="voltage"):
    turn = 2.0 * np.pi * 50.0 * t
    return {f"{stem}_{name}": crest * np.cos(turn + shift) for name, shift in SHIFTS.items()}


def make_trip_stretch(at=27.0, before=0.02, after=0.12, samples=7000):
    """Waveform piece around an opening: poles cut at their zeros, the feeder ringing down, and its events."""
    t = np.linspace(at - before, at + after, samples)
    signals, f = make_drive_signals(t)
    off = np.maximum(t - at - 0.005, 0.0)
    fade = np.where(off > 0.0, 0.0, 1.0)
    for name in ("host", "feeder_host", "feeder_end", "motor_bus"):
        signals[name] |= ring_down(t, off, signals[name]["voltage"], name != "host")
    poles, events = cut_poles(t, at, "feeder_breaker")
    signals["feeder_breaker"] = {"current": np.sqrt(sum(pole**2 for pole in poles.values()) / 3.0)} | poles
    ripple = -400.0 * np.exp(-off / 0.02) * np.sin(314.0 * off)
    signals["booster"]["torque"] = signals["booster"]["torque"] * fade + ripple
    signals["booster"]["current"] = signals["booster"]["current"] * fade
    signals["host_drive"]["current"] = signals["host_drive"]["current"] * (0.2 + 0.8 * fade)
    return Stretch("waveform", t, signals), events


def ring_down(t, off, rms, free):
    """Phase voltages that ring and fade once the time `off` since the opening runs, and their magnitude."""
    ring = 0.85 * np.exp(-off / 0.02) * np.sin(2.0 * np.pi * 240.0 * off) * free
    fade = np.exp(-off / 0.08) if free else 1.0
    phases = {f"voltage_{name}": CREST * rms * (np.cos(2.0 * np.pi * 50.0 * t + shift) * fade + weight * ring)
              for weight, (name, shift) in zip((1.0, 0.8, 0.6), SHIFTS.items())}
    return phases | {"voltage": np.sqrt(sum(phase**2 for phase in phases.values()))}


def cut_poles(t, at, breaker):
    """Pole currents that end at their first zero after the order, and the events of the poles."""
    poles, events = {}, []
    for name, wave in make_phases(t - 0.0016, 620.0 * np.sqrt(2.0), "current").items():
        k = np.flatnonzero((t[1:] > at) & (wave[1:] * wave[:-1] <= 0.0))[0] + 1
        poles[name] = np.where(np.arange(len(t)) < k, wave, 0.0)
        events.append(Event(float(t[k]), "pole_open", breaker, f"{breaker} pole {name[-1]} opens", phase=name[-1]))
    return poles, events


def find_peaks(stretch, case):
    """Peaks of every node of a waveform stretch."""
    peaks = {}
    for node in case.nodes:
        v = np.array([stretch.signals[node.name][f"voltage_{phase}"] for phase in "abc"])
        between = np.abs(v - np.roll(v, 1, axis=0))
        at, at_between = (int(np.argmax(np.abs(u).max(axis=0))) for u in (v, between))
        peaks[node.name] = Peak(float(np.abs(v[:, at]).max()), float(stretch.t[at]),
                                float(between.max()), float(stretch.t[at_between]))
    return peaks


def make_drive_run(label="quillfen"):
    """A drive carries the booster to speed in 25 s; the feeder breaker opens at 27 s."""
    case, t = make_drive_case(), np.linspace(0.0, 26.98, 3000)
    signals, f = make_drive_signals(t)
    signals["feeder_breaker"] = {"current": 2.0 * signals["booster"]["current"]}
    waveform, poles = make_trip_stretch()
    stretches = [Stretch("envelope", t, signals), waveform, make_run_down()]
    events = [Event(0.0, "start", "host_drive", "host_drive starts"),
             Event(0.4, "breakaway", "booster", "booster breaks away"),
             Event(27.0, "open", "feeder_breaker", "feeder_breaker opens"), *poles]
    ramp = "the frequency ramp of drive host_drive sets the acceleration, not the torque left over"
    rows = [make_row("bus_voltage", "feeder_host", 97.0, 85.0),
            make_row("temporary_overvoltage", "feeder_end", 1.0, 1.3),
            make_row("accelerating_torque", "booster", 6.0, 10.0, "not assessed", ramp)]
    summary = make_summary(criteria=rows)
    return SyntheticRun(case, stretches, events, find_peaks(waveform, case), summary, label)


def make_run_down():
    """Envelope piece after the opening: the feeder without voltage, the machine running down."""
    t = np.linspace(27.12, 30.0, 300)
    signals, f = make_drive_signals(t)
    gone = t - 27.12
    for name in ("feeder_host", "feeder_end", "motor_bus"):
        signals[name]["voltage"] = 0.25 * signals[name]["voltage"] * np.exp(-gone / 0.4)
    speed = RATED_SPEED * np.exp(-gone / 4.0)
    signals["booster"] = {"speed": speed, "torque": 0.0 * t, "current": 5.0 * np.exp(-gone / 0.4),
                          "load_torque": pump_torque(speed)}
    signals["host_drive"]["current"] = 0.2 * signals["host_drive"]["current"]
    return Stretch("envelope", t, signals)


def make_direct_run(label="morrowgate", depth=0.7, samples=150_000, **parts):
    """Direct start carried by the waveform engine throughout: torque pulsates for the first cycles."""
    case, t = make_grid_case(**parts), np.linspace(0.0, 3.0, samples)
    on, live = np.maximum(t - 0.2, 0.0), t >= 0.2
    x = 0.99 * (1.0 - np.exp(-((on / (0.63 / depth)) ** 1.6)))
    slip, sag = np.maximum(1.0 - x, 0.01), np.where(live, depth + (0.99 - depth) * (x / 0.99) ** 12, 1.0)
    load = pump_torque(SYNCHRONOUS * x)
    left = 1.1 * depth**2 * np.minimum(1.0, slip / 0.05 - 0.2) * RATED_TORQUE * (0.3 + 0.7 * x**4)
    ripple = 2.4 * RATED_TORQUE * np.exp(-on / 0.12) * np.sin(2.0 * np.pi * 50.0 * on)
    offset = 1.0 + 0.4 * np.exp(-on / 0.1) * np.cos(314.0 * on)
    current = RATED_CURRENT * live * np.maximum(5.5 * depth * np.sqrt(slip), 1.0) * offset
    signals = {"booster": {"speed": SYNCHRONOUS * x, "torque": (load + left + ripple) * live,
                           "load_torque": load, "current": current},
               "motor_breaker": {"current": current} | make_phases(t, np.sqrt(2.0) * current, "current")}
    ring = 1.0 + 0.25 * np.exp(-on / 0.01) * np.sin(2.0 * np.pi * 400.0 * on)
    for name, nominal, share in (("host", 33e3, 0.3), ("feeder_end", 33e3, 0.8), ("motor_bus", 6.6e3, 1.0)):
        rms = nominal * (1.0 - share * (1.0 - sag)) * ring * (live if name == "motor_bus" else 1.0)
        signals[name] = {"voltage": rms} | make_phases(t, CREST * rms)
    stretch = Stretch("waveform", t, signals)
    events = [Event(0.2, "close", "motor_breaker", "motor_breaker closes"),
             Event(0.202, "breakaway", "booster", "booster breaks away")]
    summary = summarise_direct(left, x, on)
    return SyntheticRun(case, [stretch], events, find_peaks(stretch, case), summary, label)


def summarise_direct(left, x, on):
    """Summary that fits the closed forms of the direct start."""
    rising = (x > 0.05) & (x < 0.94)
    least = np.argmin(np.where(rising, left, np.inf))
    share = float(100.0 * left[least] / RATED_TORQUE)
    rows = [make_row("bus_voltage", "host", 91.0, 85.0),
            make_row("motor_voltage", "booster", 70.0, 80.0, "fail"),
            make_row("temporary_overvoltage", "host", 1.0, 1.3),
            make_row("accelerating_torque", "booster", share, 10.0, "pass")]
    sentence = "marginal: booster accelerated, but the voltage at the motor fell to 70 % (limit 80 %)"
    return make_summary("marginal", rows, sentence, time_to_speed_s=float(on[np.argmax(x >= 0.95 * 0.99)]),
                        min_accelerating_torque_pct=share,
                        min_accelerating_torque_at_pct=float(100.0 * x[least] / 0.99))


def make_stalled_run(label="quillfen_no_boost"):
    """Voltage in proportion to frequency: 14 % of rated torque where 30 % is needed, a trip at 10.5 s."""
    case = make_drive_case(study=SimpleNamespace(duration_s=12.0), events=[],
                           title="Quillfen: start without boost")
    t = np.linspace(0.0, 12.0, 1200)
    on = t < 10.5
    rise = np.minimum(t / 0.3, 1.0) * on
    f = np.clip(1.5 + 2.0 * (t - 0.5), 1.5, 4.0) * on
    signals = {node.name: {"voltage": 0.04 * node.nominal_v * rise} for node in case.nodes}
    signals["booster"] = {"speed": 0.0 * t, "torque": 0.14 * RATED_TORQUE * rise, "current": 236.0 * rise,
                          "load_torque": 0.14 * RATED_TORQUE * rise}
    signals["host_drive"] = {"frequency": f, "current": 1.1 * 630.0 * rise}
    events = [Event(0.0, "start", "host_drive", "host_drive starts"),
             Event(10.5, "trip", "host_drive", "host_drive trips: at its current limit for too long")]
    rows = [make_row("breakaway", "booster", 0.467, 1.2, "fail")]
    sentence = "does not start: booster stalled at standstill, torque reached 14 % of rated, 30 % is needed"
    summary = make_summary("does not start", rows, sentence, outcome="stalled", time_to_speed_s=None,
                           final_speed_rpm=0.0, final_speed_pct=0.0, breakaway_torque_available_pct=46.7,
                           min_accelerating_torque_pct=None, min_accelerating_torque_at_pct=None)
    return SyntheticRun(case, [Stretch("envelope", t, signals)], events, {}, summary, label)


def make_group_run(label="group"):
    """Three boosters and ten nodes behind one drive, and a busy event list; the run ended early."""
    run = make_drive_run(label)
    names = ("booster", "injector", "a_rather_long_lift_pump_name")
    nodes = [*run.case.nodes, *(make_node(f"manifold_{k}", 6600.0) for k in range(6))]
    case = make_drive_case(machines=[make_machine(name) for name in names], nodes=nodes,
                           study=SimpleNamespace(duration_s=36.0), title="Sorrelmere: three boosters")
    for k, node in enumerate(nodes[4:]):
        copy_signal(run, "motor_bus", node.name, "voltage", 0.9 + 0.015 * k)
    for k, name in enumerate(names[1:], start=1):
        for quantity in ("speed", "torque", "load_torque", "current"):
            copy_signal(run, "booster", name, quantity, 1.0 - 0.04 * k)
    busy = [Event(5.0 + 0.4 * k, "load", names[k % 3], f"{names[k % 3]} load {50 + 10 * k} %")
            for k in range(6)]
    sentence = ("not assessed: the run stopped at 30 s, because the voltages left the number range; reduce "
                "study.waveform_step_us or check the data of the nearest component, then run it again")
    summary = run.summary | {"verdict": "not assessed", "sentence": sentence}
    return SyntheticRun(case, run.stretches, [*run.events, *busy], run.peaks, summary, label)


def copy_signal(run, source, target, quantity, factor):
    for stretch in run.stretches:
        stretch.signals.setdefault(target, {})[quantity] = factor * stretch.signals[source][quantity]


def make_bare_run(label="bare"):
    """A cable on a grid: no machine, no drive, nothing switched."""
    case = make_grid_case(machines=[], breakers=[], events=[], title="Ambervane: cable at no load")
    t = np.linspace(0.0, 3.0, 400)
    signals = {node.name: {"voltage": np.full(len(t), 1.02 * node.nominal_v)} for node in case.nodes}
    signals["shore"] = {"current": np.full(len(t), 65.0)}
    signals["umbilical"] = {"current_from": np.full(len(t), 65.0), "current_to": np.zeros(len(t))}
    summary = {"verdict": "not assessed", "sentence": "not assessed: no machine was started", "motors": {}}
    stretch = Stretch("envelope", t, signals)
    return SyntheticRun(case, [stretch], [], {}, summary, label)


def make_empty_run(label="empty"):
    """A run that failed before its first sample."""
    return SyntheticRun(make_drive_case(), [], [], {}, {"verdict": "not assessed"}, label)
