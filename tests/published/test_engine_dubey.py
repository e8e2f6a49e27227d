"""Starting time and lost energy of an unloaded motor, run as a case through the engines.

The example is quasi-steady: at every slip the torque is that of the sinusoidal state.  The product integrates the
transient, which differs in two ways.

* With the speed the slip moves through breakdown and the torque lags it by the rotor's time constant, X/(w R) = 27 ms.
  This costs a time that does not depend on the inertia: 1.6 % of the example, a tenth of that at ten times the inertia.
* Switched on at once the motor keeps an offset flux.  The example has no magnetising branch through which it
  could die out; it brakes the shaft once it turns, and 1.06 s become 1.3 s.

With the voltage raised over a few cycles there is no offset flux; as torque goes with the square of voltage,
a rise in a straight line over a time T costs 2/3 T of the start, whatever the inertia.
"""

import numpy as np
import pytest
from cross.casefile import join_signal, machine_table, make_case
from energy_books import lost_share
from reference import machine as reference
from scipy.integrate import quad

from sim.engines.run.timeline import simulate

SOURCE = "G. K. Dubey, Fundamentals of Electrical Drives, example 6.7"
# 2200 V star, 50 Hz, six poles, Rs 0.075, Rr 0.12, Xs = Xr = 0.5 ohm, no magnetising branch, J = 100 kg m2,
# unloaded, slip 1 to 0.05.  The book: 1.108 s and 891 kJ.  Its formula for the time drops Rs from the shape of the
# torque curve; the integral of J dw/T over the full curve is 1.061 s (computed outside this project).
BOOK_ENERGY, QUASI_STEADY = 891e3, 1.061
VOLTS, RS, RR, X, INERTIA, POLES = 2200.0, 0.075, 0.12, 0.5, 100.0, 6
SYNCHRONOUS = 200.0 * np.pi / POLES
NO_MAGNETISING = 1e6    # the product asks for a reactance; this one draws 1e-6 of the rotor's current [ohm]
SLIP = 0.05
RISE = 0.3              # of the voltage [s]
BRIDGE = 1e-4           # of the drive's conducting semiconductors, taken off the stator's resistance [ohm]


def quasi_steady_time(inertia):
    """Integral of J dw/T from rest to the slip of the example. [s]"""
    def torque(slip):
        return VOLTS**2 * (RR / slip) / (SYNCHRONOUS * ((RS + RR / slip) ** 2 + (2.0 * X) ** 2))

    return quad(lambda slip: inertia * SYNCHRONOUS / torque(slip), SLIP, 1.0, epsrel=1e-10)[0]


def motor(inertia, resistance=RS, magnetising=NO_MAGNETISING):
    return machine_table("motor", "bus", (resistance, X, magnetising, RR, X), inertia, {"kind": "none"},
                         rated_kw=1000.0, rated_kv=2.2, poles=POLES, winding_nf=0.0)


def start_softly(inertia, duration):
    """A stiff drive at 50 Hz whose voltage rises in a straight line."""
    drive = {"name": "supply", "node": "bus", "rated_kv": 2.2, "rated_kva": 1e5, "start_hz": 50.0,
             "voltage_rise_s": RISE, "output_resistance_pct": 0.0, "output_reactance_pct": 0.01}
    study = {"duration_s": duration, "tolerance_pu": 1e-6}
    return simulate(make_case(study, ("drive", drive), motor(inertia, RS - BRIDGE)), "envelope")


def time_to_slip(result):
    t, speed = join_signal(result, "motor", "speed")
    past = int(np.argmax(speed >= (1.0 - SLIP) * SYNCHRONOUS))
    return np.interp((1.0 - SLIP) * SYNCHRONOUS, speed[past - 1:past + 1], t[past - 1:past + 1])


@pytest.fixture(scope="module")
def soft():
    """Runs with the inertia of the example and ten times that."""
    return {times: start_softly(times * INERTIA, 2.5 * times) for times in (1.0, 10.0)}


def test_published_time_is_the_quasi_steady_integral():
    assert quasi_steady_time(INERTIA) == pytest.approx(QUASI_STEADY, abs=5e-4)      # half a unit of the last digit


def test_time_tends_to_the_quasi_steady_one(soft):
    """time / inertia = quasi-steady + constant / inertia; the constant is a fraction of the rotor's 27 ms.

    The next order is that time over the time spent around breakdown, 0.2 s at the inertia of the example.
    """
    seconds = {times: (time_to_slip(result) - 2.0 / 3.0 * RISE) for times, result in soft.items()}
    excess = {times: seconds[times] - quasi_steady_time(times * INERTIA) for times in seconds}
    assert 0.0 < excess[1.0] < X * 2.0 / (100.0 * np.pi * RR)
    assert excess[10.0] == pytest.approx(excess[1.0], rel=0.2)
    assert seconds[10.0] / 10.0 == pytest.approx(QUASI_STEADY, rel=2e-3)            # 1.6 % / 10


def test_lost_energy(soft):
    """The rotor loses J ws^2/2, the stator Rs/Rr times that; at a soft start nothing else is lost.

    The run ends at slip 0, the example at 0.05: 0.25 % of the rotor's heat less, which the printed figure leaves out.
    What is left over comes from the swing into synchronism and falls with the inertia like the time above.
    """
    assert 0.5 * INERTIA * SYNCHRONOUS**2 * (1.0 + RS / RR) == pytest.approx(BOOK_ENERGY, rel=6e-4)   # printed to 1 kJ
    balance = soft[10.0].energy
    assert balance.shaft_work == pytest.approx(5.0 * INERTIA * SYNCHRONOUS**2, rel=1e-3)
    assert balance.dissipated / 10.0 == pytest.approx(BOOK_ENERGY, rel=2e-3)
    assert soft[1.0].energy.dissipated == pytest.approx(BOOK_ENERGY, rel=1.5e-2)
    assert lost_share(soft[10.0]) < 1.2e-9


def test_direct_start_takes_longer_as_an_independent_model_says():
    """Offset flux and all, with a magnetising reactance of 1000 ohm so that the reference is well conditioned."""
    study = {"duration_s": 1.6, "waveform_step_us": 20.0, "tolerance_pu": 1e-6}
    grid = {"name": "supply", "node": "bus", "rated_kv": 2.2, "short_circuit_mva": 1e5}
    result = simulate(make_case(study, ("grid", grid), motor(INERTIA, magnetising=1000.0)), "auto")
    machine = reference.from_reactances(RS, X, 1000.0, [(RR, X)], 50.0, POLES, INERTIA)
    motion = reference.simulate(machine, reference.balanced_supply(VOLTS, 50.0), 1.6, 1e-4)
    at = np.interp((1.0 - SLIP) * SYNCHRONOUS, motion.speed[:13300], motion.t[:13300])
    assert at > 1.2 * QUASI_STEADY
    assert time_to_slip(result) == pytest.approx(at, rel=1e-4)
