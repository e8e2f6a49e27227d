"""Describing function of saturated iron against its definition, and against the kernels'."""

import numpy as np
import pytest
from factories import bend
from scipy.integrate import quad

from sim.kernels.envelope.ports import core_slope as compiled_slope
from sim.phasors.saturation import core_slope, main_slope

KNEE, EXCESS = 1.3, 40.0
CURVE = tuple(part[None] for part in reversed(bend(KNEE, EXCESS)))          # of one path
ROUND = bend([1.25, 1.3, 1.35], [10.0, 20.0, 10.0])
FLUXES = (1.31, 1.5, 2.0, 5.0)


@pytest.mark.parametrize("flux", FLUXES)
def test_core_draws_the_fundamental_of_a_dead_zone(flux):
    """2/pi times the integral of max(a sin x - K, 0) sin x over the half period, by quadrature."""
    start = np.arcsin(KNEE / flux)
    area, _ = quad(lambda x: (flux * np.sin(x) - KNEE) * np.sin(x), start, np.pi - start, epsabs=1e-13)
    slope, _ = core_slope(*CURVE, np.array([flux]))
    assert slope[0] == pytest.approx(EXCESS * 2.0 / np.pi * area / flux, rel=1e-9)


def test_core_is_that_of_the_kernels():
    fluxes = np.array([0.0, 1.0, KNEE, *FLUXES])
    knee, excess = ROUND
    slopes, _ = core_slope(excess[None], knee[None], fluxes[:, None])
    assert slopes[:, 0] == pytest.approx([compiled_slope(excess, knee, flux) for flux in fluxes], rel=1e-12)


@pytest.mark.parametrize("flux", FLUXES)
def test_main_path_draws_what_exceeds_the_knee(flux):
    slope, _ = main_slope(*CURVE, np.array([flux]))
    assert slope[0] * flux == pytest.approx(EXCESS * (flux - KNEE), rel=1e-12)


@pytest.mark.parametrize("law", [core_slope, main_slope])
def test_rate_is_the_derivative(law):
    flux, step = np.array(FLUXES[1:])[:, None], 1e-5
    (high, _), (low, _) = (law(*CURVE, flux + sign * step) for sign in (1.0, -1.0))
    assert law(*CURVE, flux)[1] == pytest.approx((high - low) / (2.0 * step), rel=1e-7)


@pytest.mark.parametrize("law", [core_slope, main_slope])
def test_nothing_up_to_the_knee_and_without_one(law):
    flux = np.array([[0.0, 0.0, 9.0], [1.0, KNEE, 1e9]])
    curves = [bend(KNEE, EXCESS), bend(KNEE, EXCESS), bend(np.inf, 0.0)]
    knee, excess = (np.stack(part) for part in zip(*curves))
    for found in law(excess, knee, flux):
        assert found.shape == (2, 3) and not found.any()
