"""The switched saturable inductor: its circuit integrated step by step, its energy, and the inrush of a text-book."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from . import saturable, switching

W = 100.0 * np.pi
CREST = 1000.0 / W          # flux crest of 1000 V
CORE = saturable.Inductor(20.0, 0.02, 1.15 * CREST, 0.7 * CREST)


def supply(**changes):
    return saturable.Supply(**{"peak": 1000.0, "frequency": 50.0, "angle": 0.0, **changes})


def integrate(core, source, t):
    """Flux by a general-purpose solver; the state is the linkage of core and source, which has no kinks."""
    grid = np.array([-1e3, -1.0, 1.0, 1e3]) * core.knee         # i is a straight line between these fluxes
    linked = grid + source.inductance * saturable.inductor_current(core, grid)

    def rates(time, chi):
        i = saturable.inductor_current(core, np.interp(chi, linked, grid))
        return source.peak * np.sin(W * time + source.angle) - source.resistance * i

    run = solve_ivp(rates, (t[0], t[-1]), [core.remanence], method="DOP853", t_eval=t, rtol=1e-10,
                    atol=1e-10 * core.knee, max_step=1e-5)
    return np.interp(run.y[0], linked, grid)


@pytest.mark.parametrize("changes", [{}, {"resistance": 5.0}, {"resistance": 5.0, "inductance": 0.03},
                                     {"resistance": 60.0, "angle": 1.1}, {"angle": np.pi, "inductance": 0.01}],
                         ids=["no losses", "R", "R and L", "much R, other angle", "reversed"])
def test_pieces_solve_the_circuit(changes):
    """Two cycles; a solver step that straddles a knee is off by what a step of 10 us can be off there."""
    t = np.linspace(0.0, 0.04, 801)
    flux, current = saturable.trace(CORE, supply(**changes), 0.04, t)
    expected = integrate(CORE, supply(**changes), t)
    assert np.abs(flux - expected).max() < 1e-7 * CREST
    assert np.abs(current - saturable.inductor_current(CORE, expected)).max() < 1e-6 * np.abs(current).max()


def test_core_is_on_its_knee_at_every_switching():
    pieces = saturable.switch_on(CORE, supply(resistance=5.0), 0.2)
    at = saturable.list_switchings(pieces)
    flux, _ = saturable.trace(CORE, supply(resistance=5.0), 0.2, at)
    assert len(at) >= 20                            # into saturation and out of it, once a cycle at the least
    assert np.abs(flux) == pytest.approx(CORE.knee, rel=1e-12)
    assert (np.diff(at) > 1e-4).all()


def test_first_peak_without_losses():
    """Flux 2 crest + remanence; a core without current below the knee gives the closed form."""
    core = CORE._replace(unsaturated=1e9)
    t = np.linspace(0.0, 0.02, 2001)
    flux, current = saturable.trace(core, supply(), 0.02, t)
    assert flux.max() == pytest.approx(2.7 * CREST, rel=1e-12)
    rated = CREST / core.saturated                  # crest current of the air-core inductance at rated flux
    assert current.max() == pytest.approx(saturable.inrush_peak(1.15, 1.0, 0.7) * rated, rel=1e-6)     # L/S = 5e10


@pytest.mark.parametrize("knee, air_core, remanence, peak", [(1.2, 0.20, 0.0, 4.0), (1.2, 0.20, 0.8, 8.0),
                                                             (1.2, 0.30, 0.8, 16.0 / 3.0)])
def test_first_peak_in_figures(knee, air_core, remanence, peak):
    """Worked by hand."""
    assert saturable.inrush_peak(knee, air_core, remanence) == pytest.approx(peak, rel=1e-12)


def test_unsaturated_core_is_a_linear_inductor():
    core = CORE._replace(knee=1e3, remanence=0.0)
    source = supply(resistance=300.0, inductance=2.0, angle=0.3)
    t = np.linspace(0.0, 0.1, 501)
    _, current = saturable.trace(core, source, 0.1, t)
    expected = switching.rl_energisation(t, 1000.0, 300.0, 22.0, 50.0, 0.3)
    assert np.abs(current - expected).max() < 1e-12 * 1000.0 / 300.0


def test_energy_is_stored_or_lost():
    """Trapezoids of 1 us over currents with kinks; the largest misses (1 us)^2/12 of the curvature."""
    source = supply(resistance=5.0)
    t = np.linspace(0.0, 0.04, 40001)
    flux, current = saturable.trace(CORE, source, 0.04, t)
    given = np.trapezoid(1000.0 * np.sin(W * t) * current, t)
    lost = np.trapezoid(5.0 * current**2, t)
    stored = saturable.inductor_energy(CORE, flux[-1]) - saturable.inductor_energy(CORE, flux[0])
    assert given == pytest.approx(lost + stored, rel=1e-6)


def test_resistance_brings_the_flux_back():
    """After many cycles every half wave is as the other one reversed."""
    core = CORE._replace(unsaturated=2.0, remanence=0.0)        # L/R of 20 ms: gone after 1 s
    source = supply(resistance=100.0, peak=1300.0)
    t = 1.0 + np.linspace(0.0, 0.02, 401)
    flux, _ = saturable.trace(core, source, 1.02, t)
    assert flux.max() > core.knee
    assert np.abs(flux[200:] + flux[:201]).max() < 1e-9 * CREST
