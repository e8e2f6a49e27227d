"""The machine integration against Kirchhoff's algebra, energy and the mechanics of sticking."""

import numpy as np
import pytest
from scipy.integrate import cumulative_simpson, simpson

from . import machine as reference

VOLTS, HZ = 400.0, 50.0
CAGES = [(0.25, 1.1), (0.9, 0.4)]
LOSSY = [(1.5, 1.1), (2.5, 0.4)]
INERTIA = 0.15


def make_machine(cages, inertia=INERTIA, xm=20.0):
    return reference.from_reactances(0.25, 0.5, xm, cages, HZ, 4, inertia)


def phasor_solution(cages, slip, source, xm=20.0):
    """Peak stator current and torque in the steady state, from the mesh equations."""
    w = 2.0 * np.pi * HZ
    z = np.full((1 + len(cages),) * 2, 1j * xm)
    z[0, 0] += 0.25 + 0.5j + source[0] + 1j * w * source[1]
    for k, (r, x) in enumerate(cages, 1):
        z[k, k] += r / slip + 1j * x
    e = np.zeros(len(z), dtype=complex)
    e[0] = np.sqrt(2.0 / 3.0) * VOLTS
    i = np.linalg.solve(z, e)
    power = 1.5 * sum(abs(i[k]) ** 2 * r / slip for k, (r, _) in enumerate(cages, 1))
    return i[0], power / (w / 2.0)


@pytest.mark.parametrize("cages", [LOSSY[:1], LOSSY], ids=["single cage", "double cage"])
def test_locked_machine_settles_on_the_phasor_solution(cages):
    """A shaft that is never released, behind a source impedance: current and torque after the transient."""
    source = (1.0, 2e-3)
    motion = reference.simulate(make_machine(cages, xm=5.0), reference.balanced_supply(VOLTS, HZ), 0.7,
                                load=reference.polynomial_load(1e6), source=source)
    current, torque = phasor_solution(cages, 1.0, source, xm=5.0)
    last = motion.t > 0.69
    # the slowest time constant is below 30 ms: after 0.69 s the transient is below 1e-9
    turning = motion.current[last] * np.exp(-2j * np.pi * HZ * motion.t[last])
    assert np.allclose(turning, current, rtol=1e-8)
    assert np.allclose(motion.torque[last], torque, rtol=1e-8)
    assert np.all(motion.speed == 0.0) and motion.released == []
    terminal = np.sqrt(2.0 / 3.0) * VOLTS - (source[0] + 2j * np.pi * HZ * source[1]) * current
    assert np.allclose(np.abs(motion.voltage[last]), abs(terminal), rtol=1e-8)


def test_loaded_machine_settles_on_the_phasor_solution():
    motion = reference.simulate(make_machine(CAGES), reference.balanced_supply(VOLTS, HZ), 0.9,
                                load=reference.polynomial_load(10.0, 0.0, 2e-3))
    slip = 1.0 - 2.0 * motion.speed[-1] / (2.0 * np.pi * HZ)
    current, torque = phasor_solution(CAGES, slip, (0.0, 0.0))
    # half a second after run-up, many rotor time constants, the transient is below 1e-6
    assert abs(motion.current[-1]) == pytest.approx(abs(current), rel=1e-6)
    assert motion.torque[-1] == pytest.approx(torque, rel=1e-6)
    assert motion.torque[-1] == pytest.approx(10.0 + 2e-3 * motion.speed[-1] ** 2, rel=1e-6)


def test_energy_in_is_heat_plus_stored_plus_shaft():
    """The rotor current is recovered from the stator flux, the integral of v - Rs i, not from the solver."""
    machine = make_machine(CAGES[:1])
    motion = reference.simulate(machine, reference.balanced_supply(VOLTS, HZ), 0.2, step=2e-5)
    i, v, lm = motion.current, motion.voltage, machine.magnetising_inductance
    (rotor_resistance, rotor_inductance), = machine.cages
    flux = cumulative_simpson((v - machine.stator_resistance * i).view(float).reshape(-1, 2), x=motion.t,
                              axis=0, initial=0.0) @ [1.0, 1.0j]
    rotor = (flux - (machine.stator_inductance + lm) * i) / lm
    heat = 1.5 * simpson(machine.stator_resistance * np.abs(i) ** 2
                         + rotor_resistance * np.abs(rotor) ** 2, x=motion.t)
    stored = 0.75 * (machine.stator_inductance * abs(i[-1]) ** 2 + rotor_inductance * abs(rotor[-1]) ** 2
                     + lm * abs(i[-1] + rotor[-1]) ** 2)
    kinetic = 0.5 * machine.inertia * motion.speed[-1] ** 2
    taken = simpson(1.5 * np.real(v * np.conj(i)), x=motion.t)
    # Simpson's rule at 20 us and 50 Hz: (w dt)^4 / 180 is below 1e-11; the rest is the solver's tolerance
    assert taken == pytest.approx(heat + stored + kinetic, rel=1e-8)


def test_shaft_breaks_away_when_torque_exceeds_the_stick():
    """With the voltage ramped the release is where the locked machine's torque passes the threshold."""
    machine = make_machine(CAGES[:1], inertia=50.0)

    def rising(t):
        return min(t / 1.0, 1.0) * reference.balanced_supply(VOLTS, HZ)(t)

    torque = phasor_solution(CAGES[:1], 1.0, (0.0, 0.0))[1]
    stick = 0.25 * torque                       # reached at half voltage
    motion = reference.simulate(machine, rising, 0.7, load=reference.polynomial_load(stick))
    # torque follows the voltage with the rotor's delay of about X/(w R) = 10 ms of the 500 ms
    assert motion.released[0] == pytest.approx(0.5, abs=0.02)
    before = motion.t <= motion.released[0]
    assert np.all(motion.speed[before] == 0.0)
    assert np.all(np.abs(motion.torque[before]) <= stick * (1.0 + 1e-9))
    assert motion.speed[-1] > 0.0


def test_shaft_stops_and_stays_when_torque_is_gone():
    machine = make_machine(CAGES[:1], inertia=0.05)

    def cut(t):
        return reference.balanced_supply(VOLTS, HZ)(t) if t < 0.15 else 0.0

    motion = reference.simulate(machine, cut, 0.6, load=reference.polynomial_load(15.0))
    assert len(motion.released) >= 1 and motion.speed.max() > 10.0
    assert np.all(motion.speed[motion.t > 0.55] == 0.0)
    assert motion.speed.min() == 0.0


def test_ramp_supply_joins_its_pieces():
    supply = reference.ramp_supply(VOLTS, HZ, 2.0, 10.0, 50.0, hold=0.5)
    peak = np.sqrt(2.0 / 3.0) * VOLTS
    assert abs(supply(0.2)) == pytest.approx(peak * 2.0 / 50.0)
    assert abs(supply(6.0)) == pytest.approx(peak)
    for t, hz in ((0.3, 2.0), (1.5, 12.0), (5.3, 50.0), (7.0, 50.0)):
        turned = np.angle(supply(t + 1e-5) / supply(t - 1e-5)) / (2.0 * np.pi * 2e-5)
        assert turned == pytest.approx(hz, rel=1e-6)
    for joint in (0.5, 5.3):
        assert supply(joint - 1e-9) == pytest.approx(supply(joint + 1e-9), rel=1e-6)
