"""Every measure counts the cycles of its own island: a host at 50 Hz, and what a drive of 60 or 100 Hz feeds.

The signals ripple at twice the frequency of their island, as magnitudes with a negative sequence do.  Over a whole
number of cycles the ripple is nothing; over those of the other island it is several per cent.
"""

from types import SimpleNamespace

import numpy as np
import pytest

from sim.measures import summarise
from sim.measures.findings import find_feeds, measure_all
from sim.measures.signals.axis import find_source, follow_frequency
from sim.measures.signals.spectrum import find_spectra
from sim.results.run import Event

from .synthetic import (
    BASE,
    RATED_SPEED,
    RATED_TORQUE,
    make_breaker,
    make_case,
    make_drive,
    make_machine,
    make_motor_signals,
    make_node,
    make_phases,
    make_run,
    make_stretch,
)

T = np.linspace(0.0, 2.0, 40001)        # 50 us: 400 samples in the cycle of 50 Hz, 200 in that of 100 Hz
RATED = (60.0, 100.0)
HOST, FAR = ("host", "hub"), ("drive_out", "motor_bus")
# trapezium rule on a sine at 200 samples a cycle, cut between samples: (2 pi / 200)^2 / 12 = 8e-5
QUADRATURE = 1e-4


def make_two(rated, **parts):
    """A grid with a cable, a transformer and a breaker at 50 Hz; beyond the drive the same at its own frequency."""
    nodes = [make_node(name) for name in HOST] + [make_node(name, island=1) for name in FAR]
    for node in nodes[2:]:
        node.frequency_hz = rated
    drive = make_drive(node="drive_out", target=rated)
    drive.frequency_hz, drive.front_end = rated, SimpleNamespace(node="hub")
    machine = make_machine()
    machine.motor.frequency_hz = rated
    machine.motor.rated_speed_rad_per_s = RATED_SPEED * rated / 50.0
    pairs = {"near": HOST, "far": FAR}
    links = {kind: [SimpleNamespace(name=f"{side}_{kind[:-1]}", from_node=ends[0], to_node=ends[1], ampacity_a=100.0)
                    for side, ends in pairs.items()] for kind in ("cables", "transformers")}
    breakers = [make_breaker(f"{side}_breaker", *ends) for side, ends in pairs.items()]
    faults = [SimpleNamespace(name=f"{side}_fault", node=ends[1]) for side, ends in pairs.items()]
    return make_case(**({"nodes": nodes, "drives": [drive], "machines": [machine], "breakers": breakers,
                         "faults": faults, **links} | parts))


def hz_of(side, rated):
    return 50.0 if side == "near" else rated


def ripple(f, level=1.0):
    """Magnitude whose square has this mean over every whole cycle. [as level]"""
    return level * np.sqrt(1.0 + 0.3 * np.sin(4.0 * np.pi * f * T))


def run_two(case, signals, engine="envelope", frequency=None, **more):
    """A run of these signals; everything that is not given stays silent."""
    rated = case.drives[0].frequency_hz
    speed = case.machines[0].motor.rated_speed_rad_per_s
    quiet = {"booster": make_motor_signals(T, np.full(len(T), speed))}
    return make_run(case, make_stretch(T, quiet | signals, engine, rated if frequency is None else frequency), **more)


@pytest.mark.parametrize("rated", RATED)
def test_source_and_frequency_of_every_node(rated):
    case = make_two(rated)
    run = run_two(case, {}, frequency=np.minimum(100.0 * T, rated))
    assert [find_source(case, name) for name in (*HOST, *FAR)] == 2 * [(None, 50.0)] + 2 * [("host_drive", rated)]
    assert follow_frequency(run, "hub")(0.3) == 50.0
    assert follow_frequency(run, "motor_bus")(0.3) == pytest.approx(30.0, rel=1e-9)
    assert follow_frequency(run, "motor_bus")(1.5) == pytest.approx(rated, rel=1e-12)
    feeds = find_feeds(run)
    assert {(feeds[name].drive, feeds[name].rated) for name in HOST} == {(None, 50.0)}
    assert {(feeds[name].drive, feeds[name].rated) for name in FAR} == {("host_drive", rated)}


@pytest.mark.parametrize("rated", RATED)
def test_urms_of_sines_is_their_rms_at_either_frequency(rated):
    signals = {name: make_phases(T, BASE, 50.0) for name in HOST} | {
        name: make_phases(T, 0.97 * BASE, rated, 0.3) for name in FAR}
    nodes = summarise(run_two(make_two(rated), signals, "waveform"))["nodes"]
    for name, level in zip((*HOST, *FAR), (1.0, 1.0, 0.97, 0.97)):
        assert nodes[name]["max_urms_pu"] == pytest.approx(level, rel=QUADRATURE)
        assert nodes[name]["min_urms_pu"] == pytest.approx(level, rel=QUADRATURE)


@pytest.mark.parametrize("rated", RATED)
def test_sag_at_the_host_counts_although_its_frequency_is_below_that_of_the_drive(rated):
    """50 Hz is below 90 % of 60 Hz; held against its own island it counts, and its depth and duration are told."""
    dip = np.where((T >= 1.0) & (T < 1.2), 0.8, 1.0) * BASE
    nodes = summarise(run_two(make_two(rated), {"hub": {"voltage": dip}}))["nodes"]
    assert nodes["hub"]["sag_depth_pct"] == pytest.approx(20.0, rel=1e-9)
    assert nodes["hub"]["sag_duration_s"] == pytest.approx(0.2, abs=0.02)


@pytest.mark.parametrize("rated", RATED)
def test_behind_the_drive_the_voltage_is_held_against_its_own_rated_frequency(rated):
    """Voltage in proportion to the frequency up to the drive's own rated one is no sag; windows count from 90 % of it.

    At 90 % of rated frequency the share of one cycle over which frequency and voltage still rise is 0.9 f / (rate / f).
    """
    rate = rated / 1.5
    frequency = np.maximum(np.minimum(rate * T, rated), 1.0)
    far = {"voltage": frequency / rated * BASE}
    node = summarise(run_two(make_two(rated), {"motor_bus": far}, frequency=frequency))["nodes"]["motor_bus"]
    assert node["min_urms_pu"] == pytest.approx(1.0, abs=rate / (0.9 * rated) ** 2)
    assert node["sag_duration_s"] == 0.0


@pytest.mark.parametrize("rated", RATED)
@pytest.mark.parametrize("side", ["near", "far"])
def test_currents_and_flux_over_cycles_of_their_own_island(rated, side):
    f = hz_of(side, rated)
    signals = {f"{side}_cable": {"current_from": ripple(f, 80.0), "current_to": ripple(f, 70.0)},
               f"{side}_transformer": {"flux_from": ripple(f, 0.9), "flux_to": ripple(f, 0.8)}}
    case = make_two(rated)
    run = run_two(case, signals)
    found, other = measure_all(run), "far" if side == "near" else "near"
    assert found.cables[f"{side}_cable"]["max_current_a"] == pytest.approx(80.0, rel=QUADRATURE)
    assert found.cable_loading[f"{side}_cable"] == pytest.approx(80.0, rel=QUADRATURE)
    assert found.flux[f"{side}_transformer"] == (None, pytest.approx(0.9, rel=QUADRATURE))
    # the check bites: over the cycles of the other island the same current is another
    wrong = {f"{other}_cable": {"current_from": ripple(f, 80.0)}}
    if rated == 60.0:
        assert measure_all(run_two(case, wrong)).cables[f"{other}_cable"]["max_current_a"] > 80.5


@pytest.mark.parametrize("rated", RATED)
def test_flux_while_starting_belongs_to_the_drive_that_starts(rated):
    """Up to 90 % of the drive's own rated frequency; the host never was below its own."""
    frequency = np.minimum(rated * T, rated)
    flux = np.where(frequency < 0.5 * rated, 1.3, np.where(frequency < 0.89 * rated, 1.2, 1.05))
    signals = {"near_transformer": {"flux_from": np.full(len(T), 1.02)}, "far_transformer": {"flux_from": flux}}
    found = measure_all(run_two(make_two(rated), signals, frequency=np.maximum(frequency, 1.0)))
    assert found.flux["far_transformer"][0] == pytest.approx(1.3, rel=1e-12)
    assert found.flux["far_transformer"][1] == pytest.approx(1.05, rel=1e-9)
    assert found.flux["near_transformer"] == (None, pytest.approx(1.02, rel=1e-9))


@pytest.mark.parametrize("rated", RATED)
def test_drive_current_over_one_of_its_own_rated_cycles(rated):
    case = make_two(rated)
    amps = case.drives[0].rated_va / (np.sqrt(3.0) * case.drives[0].rated_v)
    current = amps * (1.05 + 0.4 * np.sin(2.0 * np.pi * rated * T))
    found = measure_all(run_two(case, {"host_drive": {"current": current}}))
    assert found.drive_loading["host_drive"] == pytest.approx(105.0, rel=QUADRATURE)


@pytest.mark.parametrize("rated", RATED)
@pytest.mark.parametrize("side", ["near", "far"])
def test_a_time_without_zero_is_counted_in_cycles_of_its_own_island(rated, side):
    """A tenth of a second of one sign, from zero to zero of the sine around it: 5 cycles of 50 Hz, 6 of 60, 10 of 100.

    What counts is beyond the half cycle that every sine takes.
    """
    f = hz_of(side, rated)
    sine = 100.0 * np.sin(2.0 * np.pi * f * T)
    current = np.where((T > 1.00001) & (T < 1.09999), 100.0 + np.abs(sine), sine)
    pole = {f"current_{phase}": current for phase in "abc"}
    entry = summarise(run_two(make_two(rated), {f"{side}_breaker": pole}, "waveform"))["breakers"][f"{side}_breaker"]
    # either end lies within a sample of 5e-5 s
    assert entry["missing_zero_cycles"] == pytest.approx(0.1 * f - 0.5, abs=1e-4 * f)


@pytest.mark.parametrize("rated", RATED)
@pytest.mark.parametrize("side", ["near", "far"])
def test_last_cycle_of_a_fault_is_one_of_its_own_island(rated, side):
    """Cleared in the middle of a cycle: one whole turn of a sine before it is its RMS, whatever the angle."""
    f, on = hz_of(side, rated), (T >= 0.5) & (T < 1.0137)
    phases = {f"current_{phase}": np.where(on, 1414.2136 * np.sin(2.0 * np.pi * f * T - 2.1 * k), 0.0)
              for k, phase in enumerate("abc")}
    orders = [Event(0.5, "fault", f"{side}_fault", ""), Event(1.0137, "fault_cleared", f"{side}_fault", "")]
    faults = summarise(run_two(make_two(rated), {f"{side}_fault": phases}, "waveform", events=orders))["faults"]
    # the cycle may be cut up to a sample short of the clearing: 2 x 50 us of its period
    assert faults[f"{side}_fault"]["rms_current_a"] == pytest.approx(1000.0, rel=2.0 * 5e-5 * f)


@pytest.mark.parametrize("rated", RATED)
def test_spectra_have_the_fundamental_of_their_own_island(rated):
    """A motor straight at the host, another behind the drive: 50 Hz here, the drive's frequency there."""
    other = make_machine("host_pump", "hub")
    case = make_two(rated)
    case.machines.append(other)
    case.study = SimpleNamespace(detail_s=[[0.5, 1.5]], bandwidth_hz=2000.0)
    signals = {"hub": make_phases(T, BASE, 50.0), "drive_out": make_phases(T, BASE, rated),
               "motor_bus": make_phases(T, BASE, rated),
               "host_pump": make_motor_signals(T, np.full(len(T), RATED_SPEED))}
    found = {one.node: one for one in find_spectra(run_two(case, signals, "waveform"))}
    assert {name: one.fundamental_hz for name, one in found.items()} == {
        "hub": 50.0, "drive_out": pytest.approx(rated), "motor_bus": pytest.approx(rated)}
    for one in found.values():
        assert one.fundamental == pytest.approx(BASE, rel=1e-3) and one.distortion < 1e-3


@pytest.mark.parametrize("rated", RATED)
def test_start_and_torque_of_a_motor_rated_at_the_frequency_of_its_drive(rated):
    """Ripple of torque at the drive's frequency does no work; the speed to reach is that of its own rated frequency.

    A window of one cycle holds 1 / (f x 1 s) of the rise to speed in one second; by that much the least may be missed.
    """
    case = make_two(rated)
    motor = case.machines[0].motor
    speed = motor.rated_speed_rad_per_s * np.minimum(T, 1.0)
    torque = RATED_TORQUE * (0.6 + 0.5 * np.sin(2.0 * np.pi * rated * T))
    booster = make_motor_signals(T, speed, torque=torque, load=0.2 * RATED_TORQUE)
    told = summarise(run_two(case, {"booster": booster}))["motors"]["booster"]
    assert told["outcome"] == "accelerated"
    slip = 4.0 * np.pi * rated / motor.poles - motor.rated_speed_rad_per_s
    assert slip == pytest.approx(0.01 * 4.0 * np.pi * rated / motor.poles)
    assert told["final_speed_pct"] == pytest.approx(100.0, rel=1e-9)
    assert told["time_to_speed_s"] == pytest.approx(0.95, rel=1e-4)
    assert told["min_accelerating_torque_pct"] == pytest.approx(40.0, rel=1e-3)


@pytest.mark.parametrize("rated", RATED)
def test_a_drive_that_trips_leaves_its_host_fed(rated):
    """The host's windows go on; beyond the drive they end with its trip."""
    levels = {name: {"voltage": np.full(len(T), BASE)} for name in (*HOST, *FAR)}
    levels["hub"]["voltage"] = np.where(T > 1.5, 0.9, 1.0) * BASE
    levels["motor_bus"]["voltage"] = np.where(T > 1.0, 0.3, 1.0) * BASE
    trip = Event(1.0, "trip", "host_drive", "", "overcurrent", False)
    nodes = summarise(run_two(make_two(rated), levels, events=[trip]))["nodes"]
    assert nodes["hub"]["min_urms_pu"] == pytest.approx(0.9, rel=1e-9)
    assert nodes["motor_bus"]["min_urms_pu"] == pytest.approx(1.0, rel=1e-9)
