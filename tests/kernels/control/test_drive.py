"""Drive kernels, as plain Python: voltage, ramps, limits, compensation, overload, alarms."""

import numpy as np
import pytest

from sim.kernels import columns as c
from sim.kernels.control import drive, front, ramp


@pytest.fixture(autouse=True)
def plain_python(monkeypatch):
    """Every kernel of the modules as the function it was compiled from (none when NUMBA_DISABLE_JIT is set)."""
    for module in (drive, front, ramp):
        for name, kernel in list(vars(module).items()):
            if hasattr(kernel, "py_func"):
                monkeypatch.setattr(module, name, kernel.py_func)


def make_drive(**more):
    """1 kV, 50 Hz, limit 200 A, 2 to 20 Hz at 4 Hz/s; `more` are columns without their DRIVE_."""
    data = np.zeros(c.DRIVE_COLUMNS)
    data[[c.DRIVE_VOLTS, c.DRIVE_HZ, c.DRIVE_HOLD, c.DRIVE_RAMP, c.DRIVE_RISE]] = 1000.0, 50.0, 0.5, 4.0, 0.25
    data[[c.DRIVE_BOOST, c.DRIVE_BOOST_END, c.DRIVE_LIMIT, c.DRIVE_FILTER]] = 0.04, 10.0, 200.0, 0.02
    data[[c.DRIVE_TRIM_RATE, c.DRIVE_CEILING, c.DRIVE_SEEN, c.DRIVE_RATED]] = 10.0, 1.0, 0.05, 150.0
    data[[c.DRIVE_STALL, c.DRIVE_REST, c.DRIVE_START_HZ]] = 10.0, 600.0, 1.0
    for name, value in more.items():
        data[getattr(c, name)] = value
    return data


def make_state(hz=2.0, clock=1.0, trim=0.0):
    x = np.zeros(c.DRIVE_STATES)
    x[[c.X_HZ, c.X_CLOCK, c.X_TRIM]] = hz, clock, trim
    return x


def run_drive(current, duration, step, hz=2.0, target=20.0, data=None, watch=None, **states):
    """Backward Euler on the drive's states at a constant current; `watch` collects one state at every step."""
    data, x = make_drive() if data is None else data, make_state(hz, 0.0)
    for name, value in states.items():
        x[getattr(c, name)] = value
    for _ in range(round(duration / step)):
        e = x.copy()
        drive.drive_stage(step, e, complex(current), target, 0.0, data, x)
        if watch is not None:
            watch.append(x.copy())
    return x


@pytest.mark.parametrize("hz, clock, trim, volts", [
    (50.0, 1.0, 0.0, 1000.0), (25.0, 1.0, 0.0, 500.0), (60.0, 1.0, 0.0, 1000.0),   # constant above rated
    (5.0, 1.0, 0.0, 1000.0 * (0.1 + 0.02)), (10.0, 1.0, 0.0, 200.0), (0.0, 1.0, 0.0, 40.0),
    (25.0, 0.125, 0.0, 250.0), (25.0, 0.0, 0.0, 0.0), (25.0, 1.0, 0.3, 350.0)])
def test_voltage_follows_the_line_and_the_boost(hz, clock, trim, volts):
    assert drive.drive_voltage(make_state(hz, clock, trim), make_drive()) == pytest.approx(volts)


def test_holds_then_ramps_then_lands():
    assert run_drive(50.0, 0.4, 0.01)[c.X_HZ] == 2.0
    x = run_drive(50.0, 2.5, 0.01)
    assert x[c.X_HZ] == pytest.approx(2.0 + 4.0 * 2.0, abs=4.0 * 0.01)    # one step of the ramp
    assert x[c.X_CLOCK] == pytest.approx(2.5)
    assert run_drive(50.0, 6.0, 0.01)[c.X_HZ] == pytest.approx(20.0, abs=1e-6)
    assert run_drive(50.0, 6.0, 0.01, hz=30.0)[c.X_HZ] == pytest.approx(20.0, abs=1e-6)
    assert run_drive(50.0, 6.0, 0.5)[c.X_HZ] == pytest.approx(20.0, abs=0.1)      # no overshoot at long steps


def test_angle_is_the_integral_of_frequency():
    step = 1e-3
    x = run_drive(50.0, 1.5, step)
    exact = 2.0 * np.pi * (2.0 * 1.5 + 0.5 * 4.0 * 1.0**2)
    # backward Euler is half a step of the ramp ahead, and the hold may end a step early by rounding of the clock
    assert x[c.X_ANGLE] == pytest.approx(exact, abs=1.6 * 2.0 * np.pi * 4.0 * 1.0 * step)


def test_smoothed_ramp_is_an_s_curve():
    """Slope builds up over 1 s, so the 18 Hz take 18/4 + 1 s; the slope never exceeds 4 Hz/s nor its change 4 Hz/s2.

    Motion with limited slope a and change j over a distance s > a^2/j takes s/a + a/j (textbook).
    """
    states = []
    data = make_drive(DRIVE_JERK=4.0, DRIVE_HOLD=0.0)
    x = run_drive(50.0, 7.0, 1e-3, data=data, watch=states)
    hz, slope = np.array(states)[:, c.X_HZ], np.array(states)[:, c.X_RATE]
    assert x[c.X_HZ] == pytest.approx(20.0, abs=1e-3) and hz.max() < 20.0 + 1e-6
    assert slope.max() == pytest.approx(4.0, rel=1e-6) and slope.min() > -1e-6
    assert np.abs(np.diff(slope)).max() <= 4.0 * 1e-3 + 1e-9
    reached = 1e-3 * np.argmax(hz > 20.0 - 0.02)
    # without the exponential landing of 50 ms the last 0.02 Hz would begin sqrt(2 * 0.02/4) s before the end
    assert reached == pytest.approx(18.0 / 4.0 + 1.0 - np.sqrt(2.0 * 0.02 / 4.0), abs=0.05)


def test_stretches_have_their_own_slopes():
    data = make_drive(DRIVE_HOLD=0.0)
    data[c.DRIVE_STRETCH:c.DRIVE_STRETCH + 4] = 4.0, 1.0, 10.0, 2.0
    states = []
    run_drive(50.0, 8.0, 1e-3, data=data, watch=states)
    hz = np.array(states)[:, c.X_HZ]
    times = [1e-3 * np.argmax(hz >= level) for level in (4.0, 10.0, 18.0)]
    assert times == pytest.approx([2.0, 2.0 + 3.0, 2.0 + 3.0 + 2.0], abs=0.01)


def test_current_measurement_is_a_first_order_lag():
    x = run_drive(100.0 - 50.0j, 0.02, 1e-5)
    assert x[c.X_CURRENT] == pytest.approx(abs(100.0 - 50.0j) * (1.0 - np.exp(-1.0)), rel=1e-3)
    x = run_drive(100.0 - 50.0j, 0.05, 1e-5)
    assert (x[c.X_ACTIVE], x[c.X_REACTIVE]) == pytest.approx((100.0 * (1.0 - np.exp(-1.0)),
                                                              -50.0 * (1.0 - np.exp(-1.0))), rel=1e-3)


def test_limit_stops_the_ramp_withholds_voltage_and_counts():
    below, above = run_drive(150.0, 1.5, 1e-3), run_drive(220.0, 1.5, 1e-3)
    assert below[c.X_TRIM] == 0.0 and below[c.X_STALL] == 0.0
    assert above[c.X_HZ] == 2.0
    # 10 % over: the integrator gains 10 * 0.1 a second once the 20 ms lag has passed the limit, at 20 ln 11 ms
    start = 0.02 * np.log(11.0)
    lag = 10.0 * 0.02 * (1.1 * np.exp(-start / 0.02))       # what the lag still withholds from the integral
    assert above[c.X_TRIM] == pytest.approx(min(0.98, (1.5 - start) - lag), abs=0.02)
    # 2 % under the limit is reached after 20 ln(220/24) ms
    assert above[c.X_STALL] == pytest.approx(1.5 - 0.02 * np.log(220.0 / 24.0), abs=2e-3)
    assert run_drive(400.0, 5.0, 1e-3)[c.X_TRIM] == pytest.approx(0.98)


def test_a_limit_that_bends_turns_the_ramp_back_to_the_start_frequency():
    data = make_drive(DRIVE_BENDS=1.0, DRIVE_HOLD=0.0)
    states = []
    run_drive(205.0, 1.5, 1e-3, hz=10.0, data=data, watch=states)       # half the band above the limit
    hz = np.array(states)[:, c.X_HZ]
    assert hz[1400] - hz[400] == pytest.approx(-2.0, rel=1e-6)          # half the slope, backwards
    assert run_drive(250.0, 20.0, 1e-2, hz=10.0, data=data)[c.X_HZ] == 1.0


@pytest.mark.parametrize("current, hold, bend", [(100.0, 1.0, 1.0), (190.0, 1.0, 1.0), (195.0, 0.5, 0.5),
                                                 (200.0, 0.0, 0.0), (205.0, 0.0, -0.5), (300.0, 0.0, -1.0)])
def test_ramp_slows_in_the_last_twentieth_below_the_limit(current, hold, bend):
    assert ramp.ramp_share(current, 200.0, False) == pytest.approx(hold)
    assert ramp.ramp_share(current, 200.0, True) == pytest.approx(bend)


@pytest.mark.parametrize("hz", (1.0, 2.5, 8.0, 20.0))
@pytest.mark.parametrize("angle", (0.0, -0.4, -1.2))
def test_compensation_keeps_the_line_behind_the_resistance(hz, angle):
    """|V - sqrt(3) R I| is the V/f line at any angle of the current; more than the ceiling on it is not added."""
    data = make_drive(DRIVE_DROP=0.3, DRIVE_DROP_MOST=100.0, DRIVE_BOOST=0.0)
    x, current = make_state(hz), 40.0 * np.exp(1j * angle)
    x[c.X_ACTIVE], x[c.X_REACTIVE] = current.real, current.imag
    volts = drive.drive_voltage(x, data)
    line = 20.0 * hz
    behind = abs(volts - np.sqrt(3.0) * 0.3 * current)
    if abs(line - np.sqrt(3.0) * 0.3 * current) > line:     # a drop across the voltage: nothing to make up for
        assert volts == pytest.approx(line)
    else:
        assert behind == pytest.approx(line)
    data[c.DRIVE_DROP_MOST] = 2.0
    assert drive.drive_voltage(x, data) == pytest.approx(min(volts, line + 2.0))


def test_slip_compensation_adds_frequency_by_the_active_current():
    data, x = make_drive(DRIVE_SLIP=1.2), make_state(25.0)
    x[c.X_ACTIVE] = 75.0
    assert drive.output_hz(x, data) == pytest.approx(25.6)
    assert drive.drive_voltage(x, data) == pytest.approx(512.0)     # volts per hertz of what it puts out
    x[c.X_ACTIVE] = -75.0
    assert drive.output_hz(x, data) == pytest.approx(24.4)


@pytest.mark.parametrize("current, seconds", [
    (165.0, 60.0), (225.0, 10.0), (195.0, 60.0 * (10.0 / 60.0) ** (np.log(195.0 / 165.0) / np.log(225.0 / 165.0))),
    (157.5, 60.0 * (1.1**2 - 1.0) / (1.05**2 - 1.0)), (300.0, 10.0 * (1.5**2 - 1.0) / (2.0**2 - 1.0))])
def test_overload_lasts_as_long_as_the_curve_allows(current, seconds):
    """110 % for 60 s and 150 % for 10 s of 150 A; between them geometric, outside by I^2 - 1."""
    data = make_drive()
    data[c.DRIVE_OVERLOAD:c.DRIVE_OVERLOAD + 4] = 165.0, 60.0, 225.0, 10.0
    assert 1.0 / drive.overload_rate(current, data) == pytest.approx(seconds)
    x = run_drive(current, seconds, seconds / 1000.0, data=data)
    assert x[c.X_HEAT] == pytest.approx(1.0, abs=0.02)      # the lag of the measurement


def test_overload_is_regained_at_rated_current():
    data = make_drive()
    data[c.DRIVE_OVERLOAD:c.DRIVE_OVERLOAD + 2] = 165.0, 60.0
    assert drive.overload_rate(150.0, data) == drive.overload_rate(0.0, data) == pytest.approx(-1.0 / 600.0)


@pytest.mark.parametrize("change, amps, alarm", [
    ({}, 0.0, c.NOTHING_TO_TELL), ({"X_STALL": 10.0}, 0.0, drive.STALLED), ({"X_HEAT": 1.0}, 0.0, drive.OVERLOADED),
    ({}, 300.0, drive.OVERCURRENT), ({"X_ENERGY": 0.2}, 0.0, drive.UNDERVOLTAGE)])
def test_alarms(change, amps, alarm):
    data = make_drive(DRIVE_OVERCURRENT=300.0, LINK_FARADS=1e-3, LINK_LEAST=100.0)
    x = make_state()
    x[c.X_ENERGY] = 5.1
    for name, value in change.items():
        x[getattr(c, name)] = value
    assert drive.find_alarm(x, amps, data) == alarm


def test_a_search_ends_where_the_motor_gives_power_back_or_at_the_start_frequency():
    data = make_drive(DRIVE_SEARCH_RATE=10.0, DRIVE_SEARCH_SHARE=0.1)
    x = run_drive(20.0, 1.25, 1e-3, hz=50.0, data=data, X_SEARCHES=1.0)            # five time constants of 50 ms later
    assert x[c.X_HZ] == pytest.approx(40.0, abs=0.02) and drive.find_alarm(x, 20.0, data) == c.NOTHING_TO_TELL
    assert drive.drive_voltage(x, data) == pytest.approx(1000.0 * 40.0 / 50.0 * 0.1, rel=1e-3)
    assert drive.find_alarm(run_drive(-20.0, 1.0, 1e-3, hz=50.0, data=data, X_SEARCHES=1.0), 20.0, data) == drive.CAUGHT
    assert drive.find_alarm(run_drive(20.0, 5.5, 1e-3, hz=50.0, data=data, X_SEARCHES=1.0), 20.0, data) == drive.LOST


def test_a_falling_direct_voltage_turns_the_ramp_back():
    data = make_drive(DRIVE_BUFFER=900.0, DRIVE_BUFFER_RATE=50.0, LINK_FARADS=1e-3)
    energy = [0.5e-3 * volts**2 for volts in (1000.0, 900.0, 810.0, 700.0)]
    assert [ramp.buffer_share(one, data) for one in energy] == pytest.approx([0.0, 0.0, 0.06, 0.6 * 2.0 / 9.0])
    data[c.DRIVE_HOLD], state = 0.0, make_state(30.0)
    state[c.X_ENERGY] = energy[-1]
    x = state.copy()
    drained = 0.6 * 2.0 / 9.0
    for current, share in ((400.0, 1.0), (50.0, drained + 0.2), (-50.0, drained - 0.2)):   # 50 A: 0.2 of rated power
        drive.drive_stage(0.1, state, complex(current), 50.0, 0.0, data, x)
        assert x[c.X_HZ] == pytest.approx(30.0 - 5.0 * share)


def make_front(**more):
    """Supply of 1 kV, 3 ohm of reactance, largest current 1500 A, link of 1 mF at 1500 V."""
    values = {"FRONT_W": 314.0, "FRONT_VOLTS": 1000.0, "FRONT_FILTER": 2e-3, "FRONT_GAIN": 1.0,
              "FRONT_R": 0.1, "FRONT_L": 0.01, "FRONT_MOST": 1500.0, "FRONT_PULL": 10.0, "FRONT_PUSH": 50.0,
              "FRONT_RATIO": 1.0, "LINK_FARADS": 1e-3, "LINK_VOLTS": 1500.0}
    return make_drive(**values | more)


@pytest.mark.parametrize("tangent", (0.0, 0.5, -0.5))
def test_controlled_front_end_takes_the_power_it_wants(tangent):
    """With its current where it wants it, drop and voltage add up: v = e - (R + j w L) i, S = v conj(-i)."""
    data, v, power = make_front(FRONT_TANGENT=tangent), 980.0 * np.exp(0.3j), 2e5
    current = -np.conj(complex(power, tangent * power) / v)
    emf = front.controlled_emf(v, power, current, data)
    assert emf - complex(0.1, 3.14) * current == pytest.approx(v)


def test_diodes_block_below_their_voltage_and_hold_it_above():
    data = make_front()
    v = 800.0 * np.exp(0.2j)
    assert front.diode_emf(1500.0, v, 0.0j, 0.0, 0.0, data) == pytest.approx(v)          # no difference, no current
    current = -200.0 * np.exp(-0.4j)
    held = np.sqrt(6.0) / np.pi * 1000.0 * np.exp(-0.4j)
    assert front.diode_emf(1000.0, v, current, 0.0, 0.0, data) == pytest.approx(held)


@pytest.mark.parametrize("steps", (6, 12, 24))
def test_stepped_wave_has_characteristic_harmonics_only(steps):
    """Orders k p +- 1 of magnitude 1/h and nothing else (Mohan, Undeland, Robbins, chapter 5; from memory)."""
    angle = 2.0 * np.pi * (np.arange(48 * 64) + 0.5) / (48 * 64)
    wave = np.array([front.stepped(a, float(steps)) for a in angle])
    parts = np.fft.fft(wave) / len(wave)
    orders = np.fft.fftfreq(len(wave), 1.0 / len(wave)).round().astype(int)
    for h in range(-37, 38):
        size = abs(parts[orders == h][0])
        assert size == pytest.approx(1.0 / abs(h) if (h - 1) % steps == 0 else 0.0, abs=2e-3), h
