"""Openings at moments spread over a period: where they lie, and what they leave beside the exact reference."""

import numpy as np
import pytest
from reference.motor_opening import open_poles

from sim.engines.run.timeline import simulate
from sim.studies.openings.series import draw_moments, open_all, open_one

from .lumped import CIRCUIT, ORDER, gap_of, write_case

ENDLESS = 10**6


def test_moments_lie_one_in_each_part_of_the_period():
    moments = np.array(draw_moments(0.1, 0.02, 20))
    assert (np.floor((moments - 0.1) / 1e-3).astype(int) == np.arange(20)).all()
    assert draw_moments(0.1, 0.02, 20) == moments.tolist() and draw_moments(0.1, 0.02, 20, 2) != moments.tolist()


def test_range_over_twenty_openings_agrees_with_the_reference():
    """Median within 15 %; the very same openings re-ignite.  How far each one then escalates hangs on the last digits.

    The gap quenches whatever slope it meets, so that no limit decides between two histories.
    """
    keys, gap = gap_of(rise=8.0, most=40.0, quench=1e5)
    case = write_case(keys, duration=ORDER + 2e-4)
    found = open_one(case, "gear", simulate(case).held["gear"], most=ENDLESS)
    exact = [open_poles(CIRCUIT, gap, [moment] * 3, 0.02) for moment in found.moments]
    peaks = [found.phase_earth[:, found.nodes.index("motor")], np.array([max(one.motor) for one in exact])]
    assert found.reason is None and len(found.moments) == 20
    assert np.median(peaks[0]) == pytest.approx(np.median(peaks[1]), rel=0.15)
    struck = np.array([one.count("strike") for one in exact])
    assert (found.reignitions > 0).tolist() == (struck > 0).tolist() and 5 < np.sum(struck > 0) < 15
    quiet = struck == 0
    assert peaks[0][quiet] == pytest.approx(peaks[1][quiet], rel=0.01)


def test_openings_do_not_depend_on_the_number_of_processes():
    keys, _ = gap_of(rise=8.0, most=40.0)
    case = write_case(keys, duration=ORDER + 2e-4)
    held = simulate(case).held["gear"]
    one, two = (open_one(case, "gear", held, workers, count=4) for workers in (1, 2))
    assert one.phase_earth.tolist() == two.phase_earth.tolist() and one.reignitions.tolist() == two.reignitions.tolist()


def test_gap_without_strength_is_not_opened():
    case = write_case({}, duration=ORDER + 2e-4)
    result = simulate(case)
    assert result.held == {} and open_all(result) == []
