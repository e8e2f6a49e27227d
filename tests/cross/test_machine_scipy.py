"""Direct starts by both engines against an independent model integrated by a general-purpose solver.

The reference (tests/reference/machine.py) has currents as states in peak-valued vectors and is integrated at
1e-10.  Both sides see the same voltage behind the same source impedance.  What the product has and the reference
has not is the node's stray capacitance: it is set to the least that the case file allows, 0.01 nF, and the winding's
to zero.  Switching on makes it ring against the source at some megahertz; the ringing current, the voltage
over sqrt(L/C), is below 3e-5 of the starting current of the smallest motor, and its voltage is skipped here
for one millisecond.
"""

import numpy as np
import pytest
from reference import machine as reference
from scipy.interpolate import CubicSpline

from cross.casefile import machine_table, make_case
from sim.engines.run.timeline import simulate

# The aim is 1e-4 of each signal's peak.  The waveform engine is of order two: a wave of w loses about (w h)^2/25 a
# radian, and a start of the 500 hp machine runs through some hundred radians of slip before it swings into
# synchronism; 10 us (w h = 0.004) leaves a few 1e-5 of it.  The envelope engine holds the local error of a step to its
# tolerance of nominal plus present values; the direct-current offset turns in its frame at 60 Hz for a second
# and collects these errors over some hundred steps, hence a tolerance three decades below the aim.
AIM = 1e-4
SETTINGS = {"waveform_step_us": 10.0, "bandwidth_khz": 5.0, "tolerance_pu": 1e-7}
SAMPLING = 5e-5     # of the reference; a cubic spline at w h = 0.02 errs by (w h)^4/384, below 1e-9
RISE = 0.01         # of the voltage where a drive stands in for the grid [s]
BRIDGE = 1e-4       # of the conducting semiconductors, as the network tables state it [ohm]
RINGING = 1e-3      # voltages are compared after this [s]

# P. C. Krause, O. Wasynczuk, S. D. Sudhoff, Analysis of Electric Machinery, table of four machines: V line-to-line,
# rs, xls, xm, xlr, rr [ohm], J [kg m2], 60 Hz, four poles; last: duration of the check [s]
FOUR = {
    3: (220.0, 0.435, 0.754, 26.13, 0.754, 0.816, 0.089, 0.5),
    50: (460.0, 0.087, 0.302, 13.08, 0.302, 0.228, 1.662, 0.7),
    500: (2300.0, 0.262, 1.206, 54.02, 1.206, 0.187, 11.06, 2.0),
    2250: (2300.0, 0.029, 0.226, 13.04, 0.226, 0.022, 63.87, 2.5),
}


def make_start(volts, frequency, rated_kw, circuit, inertia, load, supply_pu, duration, **settings):
    """A case: a grid of supply_pu times the motor's rating, switched on at t = 0 onto the motor."""
    tables = [("node", {"name": "bus", "stray_nf": 0.01}),
              ("grid", {"name": "supply", "node": "bus", "rated_kv": volts / 1e3, "frequency_hz": frequency,
                        "short_circuit_mva": supply_pu * rated_kw / 1e3, "x_over_r": 10.0}),
              machine_table("motor", "bus", circuit, inertia, load, rated_kw=rated_kw, rated_kv=volts / 1e3,
                            frequency_hz=frequency, poles=4, winding_nf=0.0)]
    return make_case({"duration_s": duration} | SETTINGS | settings, *tables)


def source_impedance(volts, frequency, rated_kw, supply_pu):
    """R [ohm] and L [H] of the grid, X/R = 10."""
    z = volts**2 / (supply_pu * rated_kw * 1e3)
    x = z / np.hypot(1.0, 0.1)
    return x / 10.0, x / (2.0 * np.pi * frequency)


def errors(result, motion):
    """Largest distance of every signal from the reference, of the signal's peak."""
    vector = {"voltage": np.abs(motion.voltage) * np.sqrt(1.5), "current": np.abs(motion.current) / np.sqrt(2.0),
              "torque": motion.torque, "speed": motion.speed}
    phases = {"current_a": motion.ia, "current_b": motion.ib, "current_c": motion.ic}
    found = {}
    for stretch in result.stretches:
        for quantity, values in (vector | (phases if stretch.engine == "waveform" else {})).items():
            late = stretch.t > RINGING if quantity == "voltage" else stretch.t <= motion.t[-1]
            got = stretch.signals["bus" if quantity == "voltage" else "motor"][quantity][late]
            gap = np.abs(got - CubicSpline(motion.t, values)(stretch.t[late])).max() / np.abs(values).max()
            found[quantity] = max(gap, found.get(quantity, 0.0))
    return found


@pytest.fixture(scope="module")
def four():
    """Reference runs of the four machines behind 1 % of their rating as source impedance."""
    return {hp: run_reference(*values) for hp, values in FOUR.items()}


def run_reference(volts, rs, xs, xm, xr, rr, inertia, duration):
    machine = reference.from_reactances(rs, xs, xm, [(rr, xr)], 60.0, 4, inertia)
    hp = next(hp for hp, values in FOUR.items() if values[6] == inertia)
    source = source_impedance(volts, 60.0, 0.7457 * hp, 100.0)
    return reference.simulate(machine, reference.balanced_supply(volts, 60.0), duration, SAMPLING, source=source)


@pytest.mark.parametrize("engine", ("waveform", "auto"))
@pytest.mark.parametrize("hp", FOUR)
def test_switched_on(hp, engine, four):
    volts, rs, xs, xm, xr, rr, inertia, duration = FOUR[hp]
    case = make_start(volts, 60.0, 0.7457 * hp, (rs, xs, xm, rr, xr), inertia, {"kind": "none"}, 100.0, duration)
    found = errors(simulate(case, engine), four[hp])
    assert max(found.values()) < AIM, found


@pytest.mark.parametrize("hp", (3, 500))
def test_switched_on_within_the_envelope(hp, four):
    """The ringing of the bus keeps the steps of the envelope engine at a fraction of a microsecond for some
    milliseconds; tens of thousands of them must not add up.  At its default tolerance: ten times the tolerance."""
    volts, rs, xs, xm, xr, rr, inertia, duration = FOUR[hp]
    case = make_start(volts, 60.0, 0.7457 * hp, (rs, xs, xm, rr, xr), inertia, {"kind": "none"}, 100.0, 0.05,
                      tolerance_pu=1e-4)
    found = errors(simulate(case, "envelope"), four[hp])
    del found["voltage"]                                # rings far longer than a millisecond
    assert max(found.values()) < 1e-3, found


@pytest.mark.parametrize("hp", FOUR)
def test_raised_softly_within_the_envelope(hp):
    """A drive at fixed frequency whose voltage rises in 10 ms leaves the stray capacitance at rest."""
    volts, rs, xs, xm, xr, rr, inertia, duration = FOUR[hp]
    rated = 100.0 * 0.7457 * hp
    drive = {"name": "supply", "node": "bus", "rated_kv": volts / 1e3, "rated_kva": rated, "frequency_hz": 60.0,
             "start_hz": 60.0, "voltage_rise_s": RISE, "output_resistance_pct": 10.0, "output_reactance_pct": 100.0 / 3}
    motor = machine_table("motor", "bus", (rs, xs, xm, rr, xr), inertia, {"kind": "none"}, rated_kw=0.7457 * hp,
                          rated_kv=volts / 1e3, frequency_hz=60.0, poles=4, winding_nf=0.0)
    case = make_case({"duration_s": duration} | SETTINGS, ("node", {"name": "bus", "stray_nf": 0.01}),
                     ("drive", drive), motor)
    z = volts**2 / (rated * 1e3)
    full = reference.balanced_supply(volts, 60.0)
    machine = reference.from_reactances(rs, xs, xm, [(rr, xr)], 60.0, 4, inertia)
    motion = reference.simulate(machine, lambda t: min(t / RISE, 1.0) * full(t), duration, SAMPLING,
                                source=(0.1 * z + BRIDGE, z / 3.0 / (120.0 * np.pi)))
    found = errors(simulate(case, "envelope"), motion)
    assert max(found.values()) < AIM, found


# a double-cage motor of 2.5 MW (circuit: invented, 4.5 times rated current at standstill) with a pump
MEGAWATT = dict(volts=6600.0, rated_kw=2500.0, efficiency=0.95, power_factor=0.88, inertia=100.0, duration=4.0)
PER_UNIT = (0.007, 0.165, 3.3, 0.0100, 0.132, 0.080, 0.0645)
PUMP = {"kind": "pump", "duty_kw": 2200.0, "duty_rpm": 1486.0, "breakaway_pct": 15.0, "dip_pct": 8.0,
        "dip_speed_pct": 15.0}


def pump_torque(speed):
    """Straight from the words of the data book: breakaway 15 %, a parabola down to 8 % at 15 % speed, and from
    there with the square of speed to the duty point."""
    duty_speed = 1486.0 * np.pi / 30.0
    x = speed / duty_speed
    low = 0.08 + 0.07 * (1.0 - x / 0.15) ** 2
    high = 0.08 + 0.92 * (x**2 - 0.15**2) / (1.0 - 0.15**2)
    return 2.2e6 / duty_speed * (low if x < 0.15 else high)


@pytest.fixture(scope="module")
def pumped():
    base = MEGAWATT["volts"] ** 2 / (MEGAWATT["rated_kw"] * 1e3 / (0.95 * 0.88))
    rs, xs, xm, r1, x1, r2, x2 = circuit = tuple(base * value for value in PER_UNIT)
    machine = reference.from_reactances(rs, xs, xm, [(r1, x1), (r2, x2)], 50.0, 4, MEGAWATT["inertia"])
    source = source_impedance(6600.0, 50.0, 2500.0, 20.0)
    motion = reference.simulate(machine, reference.balanced_supply(6600.0, 50.0), MEGAWATT["duration"], SAMPLING,
                                load=pump_torque, source=source)
    return circuit, motion


@pytest.mark.parametrize("engine", ("waveform", "auto"))
def test_double_cage_with_pump(engine, pumped):
    circuit, motion = pumped
    case = make_start(6600.0, 50.0, 2500.0, circuit, MEGAWATT["inertia"], PUMP, 20.0, MEGAWATT["duration"])
    result = simulate(case, engine)
    found = errors(result, motion)
    assert max(found.values()) < AIM, found
    breakaway = next(mark.t for mark in result.events if mark.what == "breakaway")
    # the shaft leaves at the end of the waveform step in which the torque passes breakaway
    assert 0.0 <= breakaway - motion.released[0] < 1.5e-5
