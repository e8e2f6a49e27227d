"""First peak of a frequency response, against the resonance of one pole pair."""

import numpy as np
import pytest

from sim.studies.survey.peaks import find_first_peak

GRID = np.geomspace(20.0, 5000.0, 500)


def second_order(f0, q):
    return lambda f: 1.0 / abs(1.0 - (f / f0) ** 2 + 1j * f / f0 / q)


@pytest.mark.parametrize("f0", [31.0, 487.0, 3210.0])
@pytest.mark.parametrize("q", [1.5, 30.0, 1e4])
def test_peak_of_a_second_order_response(f0, q):
    """|H| is largest at f0 sqrt(1 - 1/2q^2) and is q/sqrt(1 - 1/4q^2) there (any text on oscillations)."""
    frequency, height = find_first_peak(second_order(f0, q), GRID)
    assert frequency == pytest.approx(f0 * np.sqrt(1.0 - 0.5 / q**2), rel=1e-7)   # flat top: root of rounding
    assert height == pytest.approx(q / np.sqrt(1.0 - 0.25 / q**2), rel=1e-6)


def test_first_of_several():
    first, second = second_order(300.0, 20.0), second_order(900.0, 200.0)
    frequency, _ = find_first_peak(lambda f: first(f) + second(f), GRID)
    assert frequency == pytest.approx(300.0, rel=7e-4)      # damping lowers it by 1/4q^2 = 6.3e-4


@pytest.mark.parametrize("response", [lambda f: f, lambda f: 1.0 / f, second_order(9000.0, 50.0), lambda f: 1.0])
def test_none_without_a_maximum_inside(response):
    assert find_first_peak(response, GRID) is None
