"""A run that goes well, as a starting point."""

import numpy as np
import pytest

from sim.results.run import EnergyBalance, Peak

from .synthetic import RATED_SPEED, RATED_TORQUE, make_case, make_envelope, make_outcome, make_run


@pytest.fixture
def good_start():
    """Straight acceleration to rated speed in 5 s, 40 % of rated torque left over, run of 10 s."""
    case = make_case()
    t = np.linspace(0.0, 10.0, 2001)
    speed = RATED_SPEED * np.minimum(t / 5.0, 1.0)
    stretch = make_envelope(case, t, speed, torque=0.6 * RATED_TORQUE, load=0.2 * RATED_TORQUE)
    return make_run(case, stretch, outcome=make_outcome(available=0.5 * RATED_TORQUE),
                    peaks={node.name: Peak(6000.0, 0.01, 10000.0, 0.012) for node in case.nodes},
                    energy=EnergyBalance(100.0, 20.0, 40.0, 39.99, 110.0), steps={"envelope": 2000})
