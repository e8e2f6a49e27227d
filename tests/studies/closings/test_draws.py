"""What chance decides of closings follows its distributions, and is the same whenever it is drawn."""

import numpy as np
import pytest
from scipy.stats import kstest, pearsonr, truncnorm, uniform

from sim.studies.closings.draws import draw_closing
from studies.closing_cases import FEEDER, make_case

MANY = 2000
SHARE = 1e-3            # level of significance: a sound draw of this seed would miss it once in a thousand tests
SHOTS = 'seed = 7\nspread_ms = 8.0\ntrapped_most_pu = 0.6\ntrapped_cables = ["line"]'
DELAYS = (1e-3, 2e-3, 4e-3)


@pytest.fixture(scope="module")
def drawn():
    case = make_case(FEEDER, shots=SHOTS, breaker="scatter_ms = 3.0\nclosing_delays_ms = [1, 2, 4]")
    closings = [draw_closing(case, number) for number in range(MANY)]
    return case, closings


def test_order_falls_anywhere_within_the_spread(drawn):
    orders = np.array([closing.order for closing in drawn[1]])
    assert kstest(orders, uniform(0.02, 8e-3).cdf).pvalue > SHARE


def test_poles_scatter_normally_within_three_standard_deviations(drawn):
    """Truncated normal distribution of SciPy; scatter is three standard deviations."""
    deviations = np.array([closing.delays for closing in drawn[1]]) - DELAYS
    assert np.abs(deviations).max() <= 3e-3
    for pole in deviations.T:
        assert kstest(pole, truncnorm(-3.0, 3.0, scale=1e-3).cdf).pvalue > SHARE


def test_charges_are_anywhere_between_their_limits(drawn):
    charges = np.array([closing.charges for closing in drawn[1]])
    assert charges.shape == (MANY, 1, 3)
    for phase in charges[:, 0].T:
        assert kstest(phase, uniform(-0.6, 1.2).cdf).pvalue > SHARE


def test_nothing_hangs_together(drawn):
    """Order, poles and charges by pairs, and each with itself one closing later."""
    rows = np.array([(closing.order, *closing.delays, *closing.charges[0]) for closing in drawn[1]]).T
    for k, row in enumerate(rows):
        assert pearsonr(row[:-1], row[1:]).pvalue > SHARE
        for other in rows[:k]:
            assert pearsonr(row, other).pvalue > SHARE


def test_a_closing_does_not_depend_on_what_else_is_drawn(drawn):
    case, closings = drawn
    assert [draw_closing(case, number) for number in (1999, 3, 0)] == [closings[k] for k in (1999, 3, 0)]
    assert len({closing.order for closing in closings}) == MANY


def test_another_seed_is_another_series():
    first, second = (draw_closing(make_case(shots=f"seed = {seed}"), 0) for seed in (1, 2))
    assert first.order != second.order and first.delays != second.delays


def test_without_scatter_every_pole_has_its_own_delay():
    closing = draw_closing(make_case(breaker="scatter_ms = 0.0\nclosing_delays_ms = [1, 0, 3]"), 5)
    assert closing.delays == pytest.approx((1e-3, 0.0, 3e-3), abs=1e-15) and closing.charges == ()
