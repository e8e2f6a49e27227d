"""The circuit that stands for a frequency-dependent impedance."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sim.params.cable.foster import FosterFit, fit_foster, foster_impedance
from sim.params.cable.impedance import solid_impedance
from sim.params.cable.modes import series_impedance

BAND = np.geomspace(0.1, 20e3, 43)
FINE = np.geomspace(0.1, 20e3, 2001)
RESISTANCE = 2.2e-8 / (np.pi * 9.1e-3**2)
KNOWN = FosterFit(1e-4, 2e-7, (3e-5, 4e-4), (8e-8, 5e-8), 0.0)       # corners at 60 Hz and 1.3 kHz


def skin(frequency):
    """Round copper conductor of 240 mm2 with 0.3 mH/km outside. [ohm/m]"""
    s = 2j * np.pi * frequency
    return solid_impedance(s, 9.1e-3, 2.2e-8) + s * 3e-7


def largest_error(fit, frequency, impedance):
    return np.max(np.abs(foster_impedance(fit, 2j * np.pi * frequency) / impedance - 1.0))


def test_impedance_is_that_of_the_cables_oscillators():
    s = 2j * np.pi * BAND
    branches = tuple(zip(KNOWN.branch_resistance, KNOWN.branch_inductance))
    # the same sum in two modules: rounding
    assert foster_impedance(KNOWN, s) == pytest.approx(series_impedance(s, 1e-4, 2e-7, branches), rel=1e-14)


def test_known_circuit_is_found_again():
    found = fit_foster(BAND, foster_impedance(KNOWN, 2j * np.pi * BAND), 1e-4, error=1e-6)
    # the fit stops at an error of 1e-6 of |Z|; single elements may be off by the ratio of |Z| to their part in it
    assert found.inductance == pytest.approx(2e-7, rel=1e-3)
    assert found.branch_resistance == pytest.approx(KNOWN.branch_resistance, rel=1e-3)
    assert found.branch_inductance == pytest.approx(KNOWN.branch_inductance, rel=1e-3)


def test_plain_line_needs_no_pair():
    found = fit_foster(BAND, 1e-4 + 2j * np.pi * BAND * 4e-7, 1e-4)
    assert found.branch_resistance == ()
    assert found.inductance == pytest.approx(4e-7, rel=1e-9)           # linear: the step's stopping rule


@pytest.mark.parametrize("error", [0.02, 0.01, 0.003])
def test_error_asked_for_is_met_between_the_points_too(error):
    found = fit_foster(BAND, skin(BAND), RESISTANCE, error)
    assert found.error <= error and len(found.branch_resistance) <= 5
    # the error's ripple is as wide as a pair's corner, several points: a tenth more in between
    assert largest_error(found, FINE, skin(FINE)) <= 1.1 * error


def test_error_reported_is_the_error():
    found = fit_foster(BAND, skin(BAND), RESISTANCE)
    assert found.error == pytest.approx(largest_error(found, BAND, skin(BAND)), rel=1e-9)


def test_no_smaller_circuit_would_do():
    found = fit_foster(BAND, skin(BAND), RESISTANCE, 0.003)
    fewer = len(found.branch_resistance) - 1
    assert fewer >= 1 and fit_foster(BAND, skin(BAND), RESISTANCE, 0.003, most=fewer).error > 0.003


def test_limit_of_pairs_is_kept_and_the_error_told():
    found = fit_foster(BAND, skin(BAND), RESISTANCE, 1e-9, most=2)
    assert len(found.branch_resistance) <= 2 and found.error > 1e-9


def test_dc_resistance_is_exact():
    assert fit_foster(BAND, skin(BAND), RESISTANCE).resistance == RESISTANCE


@given(st.floats(1e-3, 4e-2), st.floats(1.5e-8, 3e-7), st.floats(1e-8, 1e-6))
@settings(max_examples=12, deadline=None)
def test_every_element_is_positive_and_the_circuit_passive(radius, resistivity, outside):
    s = 2j * np.pi * BAND
    z = solid_impedance(s, radius, resistivity) + s * outside
    found = fit_foster(BAND, z, resistivity / (np.pi * radius**2), 0.02)
    assert min((found.resistance, found.inductance, *found.branch_resistance, *found.branch_inductance)) > 0.0
    far = 2j * np.pi * np.geomspace(1e-6, 1e12, 500)
    assert np.all(foster_impedance(found, far).real > 0.0)
    assert found.error <= 0.02


def test_corners_ascend():
    found = fit_foster(BAND, skin(BAND), RESISTANCE, 0.003)
    corners = np.array(found.branch_resistance) / found.branch_inductance
    assert np.all(np.diff(corners) > 0.0)


@pytest.mark.parametrize("impedance, resistance", [
    (1e-4 - 1j * BAND, 1e-4), (1e-4 + 1j * BAND, 0.0), (1e-4 + 1j * BAND, -1e-4),
])
def test_what_is_no_passive_line_is_refused(impedance, resistance):
    with pytest.raises(ValueError, match="must be positive"):
        fit_foster(BAND, impedance, resistance)
