"""What is followed at every step of the envelope engine."""

from types import SimpleNamespace

import numpy as np
import pytest

from sim.kernels.envelope import sampling
from sim.network.layout import make_layout

pytestmark = pytest.mark.usefixtures("plain_python")


def test_the_magnitude_of_a_space_vector_bounds_every_phase():
    """Crest of a phase to earth sqrt(2/3), between phases sqrt(2) of the line-to-line RMS voltage."""
    peak = np.zeros((2, 4))
    for t, x in ((0.0, [100.0, 50j]), (1.0, [-80.0 + 60j, 70.0]), (2.0, [0.0, 10.0])):
        sampling.follow_peaks(np.array(x, complex), t, peak)
    assert peak[0] == pytest.approx([np.sqrt(2.0 / 3.0) * 100.0, 0.0, np.sqrt(2.0) * 100.0, 0.0])
    assert peak[1] == pytest.approx([np.sqrt(2.0 / 3.0) * 70.0, 1.0, np.sqrt(2.0) * 70.0, 1.0])


@pytest.mark.parametrize("inertia", [0.0, 5.0])
def test_what_sticks_is_the_motor_or_the_mass_behind_its_shaft(inertia):
    machines, layout = SimpleNamespace(train=np.array([[inertia, 1000.0, 3.0]] * 2)), make_layout(0, 0, 0, 0, 2, 0, 0)
    r = np.array([10.0, 11.0, 20.0, 21.0, 0.1, 0.2])         # speeds of both motors, of both loads, both twists
    assert sampling.held_speed(machines, layout, 1, r) == (21.0 if inertia else 11.0)
    assert sampling.holding_torque(machines, layout, 1, r, 77.0) == pytest.approx(
        1000.0 * 0.2 + 3.0 * (11.0 - 21.0) if inertia else 77.0)
