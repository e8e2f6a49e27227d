"""Fit of a cable's impedance."""

import numpy as np
import pytest
from figure_reading import find_line, find_overlaps, read_words
from scipy.special import ive

from plots.starts.cable_fit import SequenceFit, draw_cable, find_errors

FREQUENCY = np.geomspace(0.1, 20e3, 241)
S = 2j * np.pi * FREQUENCY
MU = 4e-7 * np.pi


def wire(radius, resistivity):
    """Internal impedance of a round wire by Bessel functions: S. A. Schelkunoff, The electromagnetic theory of
    coaxial transmission lines and cylindrical shields, 1934 (from memory, to be checked). [ohm/m]"""
    m = np.sqrt(S * MU / resistivity)
    return m * resistivity / (2.0 * np.pi * radius) * ive(0, m * radius) / ive(1, m * radius)


EXACT = wire(5.7e-3, 2.2e-8) + S * 3.4e-7
ROUGH = 2.2e-8 / (np.pi * 5.7e-3**2) + S * 3.9e-7      # constant resistance and inductance
POSITIVE = SequenceFit("positive sequence", EXACT, 1.002 * EXACT)
ZERO = SequenceFit("zero sequence", 3.0 * EXACT, 3.0 * ROUGH)


@pytest.fixture(scope="module")
def figure():
    return draw_cable("umbilical", FREQUENCY, [POSITIVE, ZERO], 50.0)


def test_axes_have_units_and_decades(figure):
    resistance, inductance, error = figure.axes
    assert [axes.get_ylabel() for axes in figure.axes] == ["R [ohm/km]", "L [mH/km]", "Error [%]"]
    assert error.get_xlabel() == "Frequency [Hz]"
    assert all(axes.get_xscale() == "log" for axes in figure.axes)
    np.testing.assert_allclose(resistance.get_xlim(), [0.1, 20e3], rtol=1e-12)


def test_resistance_and_inductance_are_those_of_a_wire(figure):
    """Low frequency: rho/A, and mu/8 pi = 0.05 mH/km inside the wire, 0.34 outside (handbook)."""
    resistance, inductance, _ = figure.axes
    line = find_line(resistance, "_exact positive").get_ydata()
    np.testing.assert_allclose(line[0], 1e3 * 2.2e-8 / (np.pi * 5.7e-3**2), rtol=1e-6)
    np.testing.assert_allclose(find_line(inductance, "_exact positive").get_ydata()[0], 0.39, rtol=1e-5)


def test_fit_is_drawn_over_the_exact_curve(figure):
    exact, fitted = (find_line(figure.axes[0], f"_{kind} positive") for kind in ("exact", "fitted"))
    np.testing.assert_allclose(fitted.get_ydata() / exact.get_ydata(), 1.002, rtol=1e-12)
    assert fitted.get_zorder() > exact.get_zorder() and fitted.get_linewidth() < exact.get_linewidth()


def test_errors_are_reported(figure):
    words = read_words(figure)
    assert "positive sequence:\nR 0.2 %, Z 0.2 %" in words
    of_resistance, of_impedance = find_errors(ZERO)
    assert f"R {of_resistance.max():.2g} %, Z {of_impedance.max():.2g} %" in words
    assert f"{of_impedance.max():.2g} % (zero sequence)" in words


def test_error_of_a_scaled_impedance_is_the_scale():
    for error in find_errors(POSITIVE):
        np.testing.assert_allclose(error, 0.2, rtol=1e-9)      # 1.002 - 1 loses three digits of sixteen


def test_values_at_rated_frequency_are_written(figure):
    words = read_words(figure)
    fitted = find_line(figure.axes[0], "_fitted positive").get_ydata()
    assert f"positive sequence: {np.interp(50.0, FREQUENCY, fitted):#.3g} ohm/km at 50 Hz" in words
    assert "mH/km at 50 Hz" in words


@pytest.mark.parametrize("sequences", [[POSITIVE, ZERO], [POSITIVE],
                                       [POSITIVE, POSITIVE._replace(name="zero sequence")]])
@pytest.mark.parametrize("rated", [50.0, 16.7])
def test_no_text_overlaps(sequences, rated):
    figure = draw_cable("umbilical section 2", FREQUENCY, sequences, rated, foot=("branches", "case"))
    assert find_overlaps(figure) == []
