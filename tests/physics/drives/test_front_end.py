"""A drive fed from another supply: power, stability, charging, harmonics, loss of supply, ride-through."""

from types import SimpleNamespace

import numpy as np
import pytest
from energy_books import lost_share
from engines.circuits import TURN, drive, event, grid, list_moments, machine, make_case, node, shunt, write
from reference.front_end import find_balance, find_modes
from scipy.interpolate import CubicSpline

from sim.engines.run.timeline import simulate
from sim.measures.signals.axis import join_signal, join_times

KV, KVA = 10.0, 5000.0
WEAK_NF = 1000.0        # capacitance of the node at the front end


def far_drive(front=None, link=None, output=None):
    """A drive at node `out` that takes its power at node `bus`; its output impedance is next to nothing."""
    values = {"node": "out", "kv": KV, "kva": KVA, "output_resistance_pct": 0.0, "output_reactance_pct": 0.1,
              "start_hz": 50.0, "hold_s": 0.0, "voltage_rise_s": 0.5, "current_limit_pct": 400.0, "stall_s": 100.0,
              **(output or {})}
    return (drive(**values) + write("[drive.front_end]", **{"node": "bus", "current_max_pct": 300.0, **(front or {})})
            + write("[drive.dc_link]", **{"loss_pct": 0.0, "undervoltage_trip_pct": 20.0, **(link or {})}))


def loaded(mw=4.0, mva=50.0, duration=1.0, front=None, link=None, output=None, parts=(), **settings):
    """Weak grid, front end, drive and a resistor that takes `mw` at rated voltage."""
    return make_case(grid(kv=KV, mva=mva, x_over_r=10.0), node("bus", stray_nf=WEAK_NF),
                     far_drive(front, link, output), shunt("out", resistance_ohm=KV**2 / mw), *parts,
                     duration=duration, tolerance_pu=1e-7, **settings)


def weak_supply(mw, mva, control_hz=10.0, filter_s=5e-3):
    """The same in numbers for the reference."""
    z = KV**2 / mva
    base, x = KV**2 / KVA * 1e3, z / np.hypot(1.0, 0.1)
    inductance, natural = 0.12 * base / TURN, 2.0 * np.pi * control_hz
    return SimpleNamespace(
        emf=1e3 * KV, grid_r=0.1 * x, grid_l=x / TURN, node_c=1e-9 * WEAK_NF, node_g=0.0, front_r=0.005 * base,
        front_l=inductance, gain=inductance / 2e-3, w=TURN, filter=filter_s, energy=0.01 * 1e3 * KVA,
        pull=2.0 * np.sqrt(0.5) * natural, push=natural**2, load=1e6 * mw)


def last(result, name, quantity):
    return join_signal(result, name, quantity)[-1]


@pytest.mark.parametrize("engine, enough, lost", [("envelope", 1e-5, 1e-10), ("waveform", 1e-4, 2.5e-8)])
def test_steady_state_is_that_of_a_constant_power(engine, enough, lost):
    """Node voltage and both currents against the balance of the equations written out in the reference.

    The waveform engine sees its own currents a step late, which shifts the balance by the drop over a step.
    """
    result = simulate(loaded(engine=engine), engine)
    x = find_balance(weak_supply(4.0, 50.0))
    assert last(result, "bus", "voltage") == pytest.approx(abs(complex(*x[2:4])), rel=enough)
    assert last(result, "inverter", "front_current") == pytest.approx(abs(complex(*x[4:6])) / np.sqrt(3.0), rel=enough)
    assert last(result, "inverter", "dc_voltage") == pytest.approx(1.1 * np.sqrt(2.0) * 1e3 * KV, rel=1e-4)
    assert lost_share(result) < lost


@pytest.mark.parametrize("factor, leading", [(0.9, False), (0.95, True)])
def test_power_factor_is_the_one_asked_for(factor, leading):
    """At the node: P = S cos phi, and the grid's voltage falls with lagging current and rises with leading."""
    unity = simulate(loaded(), "envelope")
    result = simulate(loaded(front={"power_factor": factor, "leading": leading}), "envelope")
    volts, amps = last(result, "bus", "voltage"), last(result, "inverter", "front_current")
    drop = 3.0 * 0.005 * KV**2 / KVA * 1e3 * amps**2        # in the front end's resistance, behind the node
    assert (4e6 + drop) / (np.sqrt(3.0) * volts * amps) == pytest.approx(factor, rel=1e-3)
    assert (volts > last(unity, "bus", "voltage")) == leading


def test_power_stays_when_the_voltage_falls():
    """On a supply at 90 % the same power draws 1/0.9 of the current; a resistor would draw 0.9 of it."""
    amps = []
    for pu in (1.0, 0.9):
        case = make_case(grid(kv=KV, mva=5000.0, voltage_pu=pu), far_drive(), shunt("out", resistance_ohm=25.0),
                         duration=1.0)
        amps.append(last(simulate(case, "envelope"), "inverter", "front_current"))
    assert amps[1] / amps[0] == pytest.approx(1.0 / 0.9, rel=0.01)      # losses in 0.5 % of resistance


def find_mode(result, start, end, step=2e-3):
    """Complex rate of the one oscillation in a signal, by linear prediction: y[n+3] from the three before it.

    A constant and one damped oscillation satisfy such a recurrence exactly (R. de Prony, 1795).
    """
    t = np.arange(start, end, step)
    y = CubicSpline(join_times(result), join_signal(result, "inverter", "dc_voltage"))(t)
    y = np.diff(y)                  # without the constant two coefficients are left
    a, b = np.linalg.lstsq(np.stack([y[1:-1], y[:-2]], axis=1), y[2:], rcond=None)[0]
    return np.log(np.roots([1.0, -a, -b]).astype(complex)).max() / step


@pytest.mark.parametrize("mva, rise, span", [(15.0, 0.5, 0.4), (12.0, 0.5, 0.9), (10.5, 3.0, 0.3)])
def test_small_disturbances_move_as_the_eigenvalues_say(mva, rise, span):
    """Damped, nearly undamped and growing, by the short-circuit power alone: the growth rate within 0.3 1/s of the
    linearised equations and the frequency within 1 % (a power is quadratic in its disturbance, here some per cent)."""
    mode = find_modes(weak_supply(4.0, mva, control_hz=20.0))[0]
    assert np.sign(mode.real) == (1.0 if mva < 11.0 else -1.0)
    case = loaded(mva=mva, duration=rise + span, front={"control_hz": 20.0}, output={"voltage_rise_s": rise})
    found = find_mode(simulate(case, "envelope"), rise + 0.1, rise + span)
    assert abs(found.imag) == pytest.approx(abs(mode.imag), rel=0.01)
    assert found.real == pytest.approx(mode.real, abs=0.3)


def test_an_unstable_supply_is_given_up_and_the_drive_trips():
    """More power than the supply can carry, V^2/2X: the run ends with a reason, not with numbers."""
    result = simulate(loaded(mw=4.5, mva=8.0, duration=1.5, link={"undervoltage_trip_pct": 70.0},
                             output={"output_reactance_pct": 3.0, "output_resistance_pct": 0.5}))
    kinds = [mark.what for mark in result.events]
    assert "trip" in kinds
    assert any("direct voltage too low" in mark.label for mark in result.events)
    assert lost_share(result) < 5e-5


def test_charging_follows_the_resistor():
    """An empty link behind a charging resistor: the power of the diodes' fundamental into W = C V^2/2.

    With R far above the reactance the current is (U - k V)/R, so C V dV/dt = k V (U - k V)/R and the time constant is
    R C/k^2, k = sqrt(6)/pi, on the way to V = U/k.
    """
    case = make_case(grid(kv=KV, mva=5000.0), far_drive({"charged": False, "charging_resistance_pct": 1000.0,
                                                         "reactance_pct": 1.0, "resistance_pct": 0.0}),
                     event(1.5, "start", "inverter"), duration=1.5, tolerance_pu=1e-6)
    result = simulate(case, "envelope")
    t, volts = join_times(result), join_signal(result, "inverter", "dc_voltage")
    k, supply = np.sqrt(6.0) / np.pi, 1e3 * KV
    ohm, farads = 10.0 * KV**2 / KVA * 1e3, 2.0 * 0.01 * 1e3 * KVA / (1.1 * np.sqrt(2.0) * 1e3 * KV) ** 2
    charged = [mark.t for mark in result.events if mark.what == "charged"]
    expected = supply / k * (1.0 - np.exp(-t * k**2 / (ohm * farads)))
    before = (t > 0.02) & (t < charged[0])
    # from 5 % of rated current on the diodes are taken to conduct all the time
    assert volts[before] == pytest.approx(expected[before], abs=0.02 * supply / k)
    assert charged[0] == pytest.approx(-np.log(0.05) * ohm * farads / k**2, rel=0.05)
    assert last(result, "inverter", "dc_voltage") == pytest.approx(1.1 * np.sqrt(2.0) * supply, rel=1e-3)


@pytest.mark.parametrize("pulses", (12, 24))
def test_diodes_draw_their_characteristic_harmonics(pulses):
    """Orders k p +- 1: the current of order h is E_1/h over the reactance at h, here with an infinite supply.

    The reactance is large enough that the bridges conduct without gaps: X I > V sin(pi/p).
    Mohan, Undeland, Robbins, *Power Electronics*, chapter 5 (from memory, to be checked).
    """
    gear = write("[[breaker]]", name="gear", from_="head", to="bus")
    case = make_case(grid("head", kv=KV, mva=1e5), gear, shunt("out", resistance_ohm=25.0),
                     far_drive({"kind": "rectifier", "pulses": pulses, "reactance_pct": 50.0}, None,
                               {"voltage_rise_s": 0.1}), duration=0.6)
    result = simulate(case, "waveform")
    stretch = result.stretches[-1]
    late = stretch.t > 0.58
    t, amps = stretch.t[late], stretch.signals["gear"]["current_a"][late]
    volts = last(result, "inverter", "dc_voltage")
    bridge, x = 1.15 * KV, 0.5 * KV**2 / KVA * 1e3
    for h in (5, 7, 11, 13, 23, 25):
        w = 2j * np.pi * 50.0 * h
        size = abs(2.0 * np.mean(amps * np.exp(-w * t))) / np.sqrt(2.0)        # whole periods
        expected = np.sqrt(6.0) / np.pi * volts * (KV / bridge) / h / np.sqrt(3.0) / (h * x)
        assert size == pytest.approx(expected if (h % pulses) in (1, pulses - 1) else 0.0, abs=0.03 * expected), h


def test_two_networks_share_one_balance():
    """Grid energy = losses of both networks and of the drive, what is stored, and shaft work: closed to 3e-8."""
    case = make_case(grid(kv=KV, mva=200.0), far_drive(link={"loss_pct": 2.0}, output={"start_hz": 2.0, "kv": 6.0,
                                                                                       "voltage_rise_s": 0.1}),
                     machine("out", kv=6.0, kw=2000.0, inertia=20.0), duration=2.0)
    for engine in ("envelope", "auto"):
        result = simulate(case, engine)
        assert lost_share(result) < 3e-8
        assert result.energy.shaft_work > 0.0 and result.energy.dissipated > 0.02 * 1e3 * KVA * 2.0


def test_without_supply_turning_masses_feed_the_link():
    """The feeder opens for 0.3 s: with buffering the motor slows, the link holds and the drive runs on; without, it
    trips at its undervoltage.  The link holds 20 ms of rated power: a motor's leakage answers within 15 ms."""
    gear = write("[[breaker]]", name="gear", from_="head", to="bus")
    ends, load = {}, {"kind": "pump", "duty_kw": 1500.0, "duty_rpm": 1480.0}
    for share in (0.0, 90.0):
        case = make_case(grid("head", kv=KV, mva=200.0), gear, node("bus", stray_nf=WEAK_NF),
                         far_drive(link={"loss_pct": 1.0, "undervoltage_trip_pct": 70.0, "ride_through_pct": share,
                                         "capacitance_uf": 2300.0},
                                   output={"start_hz": 10.0, "kv": 6.0, "ramp_hz_per_s": 20.0, "target_hz": 40.0}),
                         machine("out", kv=6.0, kw=2000.0, inertia=60.0, load=load), event(4.0, "open"),
                         event(4.3, "close"), duration=6.0)
        ends[share] = simulate(case)
    assert [mark.label for mark in ends[0.0].events if mark.what == "trip"] == [
        "inverter trips: direct voltage too low"]
    assert not list_moments(ends[90.0], "trip", "inverter")
    assert last(ends[90.0], "inverter", "dc_voltage") == pytest.approx(
        join_signal(ends[90.0], "inverter", "dc_voltage")[100], rel=0.01)
    assert last(ends[90.0], "booster", "speed") > 0.95 * 2.0 * np.pi * 20.0


@pytest.mark.parametrize("kind", ["active", "rectifier"])
def test_a_bus_fault_trips_the_drive_at_the_same_moment_at_any_band(kind):
    """Steps of 20, 4 and 1 us: the trip within half a millisecond, energy closed, and no alternation."""
    trips = []
    for band in (1.0, 5.0, 20.0):
        short = write("[[fault]]", name="short", node="bus", phases="abc", at_s=0.3, clear_s=0.4)
        result = simulate(loaded(mva=200.0, duration=0.45, front={"kind": kind}, link={"undervoltage_trip_pct": 70.0},
                                 output={"voltage_rise_s": 0.1}, parts=(short,), bandwidth_khz=band))
        trips += [mark.t for mark in result.events if mark.what == "trip"]
        assert lost_share(result) < 1e-4 and result.chatter_steps <= 8
    assert len(trips) == 3 and np.ptp(trips) < 5e-4 and 0.3 < min(trips) < 0.35
