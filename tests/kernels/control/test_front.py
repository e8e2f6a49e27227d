"""Direct-voltage link and front end: the stages against the differential equations integrated by SciPy."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from sim.kernels import columns as c
from sim.kernels.control import front

from .test_drive import make_front

pytestmark = pytest.mark.usefixtures("plain_python")

SUPPLY, CURRENT, OUT, LOSS = 950.0 * np.exp(0.2j), -300.0 * np.exp(0.1j), 1.5e5, 4e3
SPAN = 0.02


def start(data, volts=1450.0, seen=900.0 + 0j, **modes):
    """A controlled front end at work unless `modes` say otherwise."""
    x = np.zeros(c.DRIVE_STATES)
    for name, value in ({"X_CONTROLLED": 1.0} | modes).items():
        x[getattr(c, name)] = value
    x[c.X_ENERGY] = 0.5 * data[c.LINK_FARADS] * volts**2
    x[c.X_SUPPLY], x[c.X_SUPPLY_Q] = seen.real, seen.imag
    return x


def step_through(data, x, steps, frame_w):
    """Backward Euler with the kernel's stage; the state at the end."""
    for _ in range(steps):
        e = x.copy()
        front.front_stage(SPAN / steps, e, SUPPLY, CURRENT, OUT, LOSS, frame_w, 0.0, data, x)
    return x


def slopes(data, frame_w):
    """The equations as the module's docstring has them: W, controller's power, measured voltage."""
    full = 0.5 * data[c.LINK_FARADS] * data[c.LINK_VOLTS] ** 2

    def slope(_, y):
        energy, power, seen = y[0].real, y[1].real, y[2]
        wanted = data[c.FRONT_PULL] * (full - energy) + power
        asked = -np.conj(complex(wanted, data[c.FRONT_TANGENT] * wanted) / seen)
        emf = seen + complex(data[c.FRONT_R], data[c.FRONT_W] * data[c.FRONT_L]) * asked + data[c.FRONT_GAIN] * (
            asked - CURRENT)
        brought = -(emf * np.conj(CURRENT)).real
        turning = 1j * (data[c.FRONT_W] - frame_w) * seen
        return [brought - OUT - LOSS, data[c.FRONT_PUSH] * (full - energy),
                turning + (SUPPLY - seen) / data[c.FRONT_FILTER]]

    return slope


@pytest.mark.parametrize("frame_w", [0.0, 314.0])
@pytest.mark.parametrize("tangent", [0.0, 0.4])
def test_stages_follow_the_differential_equations(frame_w, tangent):
    """Euler steps extrapolated from N and 2 N: error of second order, a quarter at twice as many.

    A link of 3 kV, so that its bridge never reaches the end of its linear range.
    """
    data = make_front(FRONT_TANGENT=tangent, LINK_VOLTS=3000.0)
    x = start(data, 2950.0)
    exact = solve_ivp(slopes(data, frame_w), (0.0, SPAN), [complex(x[c.X_ENERGY]), 0j, 900.0 + 0j], "DOP853",
                      rtol=1e-11, atol=1e-9).y[:, -1]
    errors = []
    for steps in (200, 400):
        coarse, fine = (step_through(data, start(data, 2950.0), n, frame_w) for n in (steps, 2 * steps))
        found = 2.0 * fine - coarse
        seen = complex(found[c.X_SUPPLY], found[c.X_SUPPLY_Q])
        errors.append([abs(found[c.X_ENERGY] / exact[0].real - 1.0), abs(found[c.X_POWER] - exact[1].real) / OUT,
                       abs(seen - exact[2]) / abs(SUPPLY)])
    errors = np.array(errors)
    assert (errors[1] < 2e-4).all()
    assert (errors[1] < 0.4 * errors[0] + 1e-9).all()


def test_no_energy_is_lost_in_a_stage():
    """What is stored is the old energy and what came in at the voltage returned, to rounding."""
    for controlled in (1.0, 0.0):
        data = make_front(FRONT_RESISTOR=2.0)
        e, d = start(data, X_CONTROLLED=controlled, X_CHARGES=1.0), 3e-3
        x = e.copy()
        emf, lost = front.front_stage(d, e, SUPPLY, CURRENT, OUT, LOSS, 0.0, 0.0, data, x)
        assert lost == pytest.approx(LOSS + 2.0 * abs(CURRENT) ** 2)
        brought = -(emf * np.conj(CURRENT)).real
        assert x[c.X_ENERGY] == pytest.approx(e[c.X_ENERGY] + d * (brought - OUT - lost), rel=1e-12)


def test_a_front_end_asks_for_no_more_than_its_largest_current_and_voltage():
    data = make_front(FRONT_MOST=300.0, FRONT_GAIN=0.0, FRONT_R=0.0)
    emf = front.controlled_emf(1000.0 + 0j, 1e9, 0j, data)
    assert abs(emf - 1000.0) == pytest.approx(300.0 * 3.14)
    data, energy = make_front(), 0.5 * 1e-3 * 100.0**2
    emf, _ = front.front_emf(energy, start(data), 1e-4, 1000.0 + 0j, 1000.0 + 0j, 0j, 0.0, data)
    assert abs(emf) == pytest.approx(np.sqrt(0.5) * 100.0)     # the linear range of 100 V direct


@pytest.mark.parametrize("change, volts, seen, told", [
    ({"X_CHARGES": 1.0}, 1250.0, 1000.0, front.BRIDGED), ({"X_CHARGES": 1.0}, 1200.0, 1000.0, c.NOTHING_TO_TELL),
    ({"X_CHARGES": 1.0}, 1250.0, 700.0, c.NOTHING_TO_TELL), ({}, 1450.0, 499.0, front.GIVEN_UP),
    ({}, 1450.0, 501.0, c.NOTHING_TO_TELL), ({"X_CONTROLLED": 0.0}, 1450.0, 801.0, front.TAKEN_UP),
    ({"X_CONTROLLED": 0.0}, 1450.0, 799.0, c.NOTHING_TO_TELL),
    ({"X_CONTROLLED": 0.0, "X_DIODES": 1.0}, 1450.0, 999.0, c.NOTHING_TO_TELL)])
def test_alarms(change, volts, seen, told):
    """Charged at 95 % of pi/sqrt(6) of the supply; given up below half of rated supply, taken up above 80 %."""
    data = make_front()
    assert front.find_front_alarm(start(data, volts, complex(seen), **change), data) == told


def test_an_empty_link_gives_nothing():
    """A working drive on 1 J: within some stages nothing is drawn or lost any more, and every joule is in the books."""
    data = make_front(LINK_LEAST=1000.0)
    x, booked = start(data, volts=20.0, seen=0j, X_CONTROLLED=0.0), 0.0
    before = x[c.X_ENERGY]
    for _ in range(200):
        e = x.copy()
        _, lost = front.front_stage(1e-4, e, 0j, 0j, 0.0, LOSS, 0.0, 0.0, data, x)
        booked += 1e-4 * lost
        assert 0.0 <= x[c.X_ENERGY] <= e[c.X_ENERGY]
    assert before - x[c.X_ENERGY] == pytest.approx(booked, rel=1e-9)
    assert front.faded_loss(0.0, 1e-4, LOSS, data) == front.faded_loss(-1.0, 1e-4, LOSS, data) == 0.0


@pytest.mark.parametrize("volts", [1450.0, 100.0, 0.0])
def test_a_blocked_output_only_takes_back(volts):
    """Its diodes lead any current into the link, an empty one too, and hold nothing against a voltage below theirs."""
    data = make_front(DRIVE_RATED=300.0)
    energy = 0.5 * data[c.LINK_FARADS] * volts**2
    for angle in np.linspace(0.0, 2.0 * np.pi, 37):
        current = 200.0 * np.exp(1j * angle)
        emf = front.blocked_emf(energy, 50.0 + 0j, current, data)
        assert (emf * np.conj(current)).real < 0.0
    held = min(50.0, np.sqrt(6.0) / np.pi * max(volts, 1e-3 * data[c.LINK_VOLTS]))
    assert front.blocked_emf(energy, 50.0 + 0j, 0j, data) == pytest.approx(held)
