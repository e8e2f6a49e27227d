"""Curves of arresters: chords against the curve itself, evaluated independently, and the usual shape's landmarks."""

import numpy as np
import pytest

from sim.params.arrester_curve import (
    CHORD_ERROR,
    TYPICAL,
    extend,
    find_chord_error,
    find_voltage,
    make_chords,
    scale_typical,
)

RESIDUAL = 22.05e3
GIVEN = [(0.1, 13e3), (100.0, 16.5e3), (10e3, 22e3)]


def sample_error(points, chords):
    """Largest relative error of voltage of chords, against the curve straight over both logarithms by numpy."""
    i, u = np.array(points).T
    current = np.geomspace(i[0], i[-1], 20001)
    curve = np.exp(np.interp(np.log(current), np.log(i), np.log(u)))
    return np.max(np.abs(np.interp(current, *np.array(chords).T) / curve - 1.0))


@pytest.mark.parametrize("points", [scale_typical(RESIDUAL), GIVEN, [(1.0, 10e3), (10e3, 25e3)]])
def test_chords_follow_the_curve(points):
    # the limit is the module's own promise; the sampling is finer than any chord
    assert sample_error(points, make_chords(points)) <= CHORD_ERROR


def test_chords_are_not_more_than_needed():
    # twice the promise must not be met by leaving every second point out: the curve bends that much
    chords = make_chords([(1e-3, 10e3), (10e3, 20e3)])
    assert sample_error([(1e-3, 10e3), (10e3, 20e3)], chords[:1] + chords[1::2] + chords[-1:]) > CHORD_ERROR


@pytest.mark.parametrize("points", [scale_typical(RESIDUAL), GIVEN, [(0.0, 12e3), (1.0, 13e3), (10e3, 22e3)]])
def test_chords_ascend_from_no_current(points):
    i, u = np.array(make_chords(points)).T
    assert i[0] == 0.0 and np.all(np.diff(i) > 0.0) and np.all(np.diff(u) > 0.0)
    assert (i[-1], u[-1]) == points[-1]


def test_points_given_are_among_the_chords():
    chords = make_chords(GIVEN)
    for point in GIVEN:
        assert any(np.allclose(point, chord, rtol=1e-12) for chord in chords)      # rounding of exp and log


@pytest.mark.parametrize("exponent, ratio", [(40.0, 0.02), (10.0, 0.07), (2.0, 0.3), (1.0, 0.5), (0.5, 0.2)])
def test_error_of_a_chord_against_sampling(exponent, ratio):
    u = np.linspace(1.0, np.exp(ratio), 200001)
    i = u**exponent
    chord = 1.0 + (i - 1.0) * (u[-1] - 1.0) / (i[-1] - 1.0)
    # 200000 samples of a smooth maximum miss it by 1e-9 of itself at most
    assert find_chord_error(exponent, ratio) == pytest.approx(np.max(np.abs(1.0 - chord / u)), rel=1e-6, abs=1e-12)


def test_typical_curve_has_the_landmarks_of_metal_oxide():
    # common practice: conduction of milliamperes begins near the crest of the rated voltage, here 1.414/2.45 = 0.577 of
    # the residual voltage at 10 kA; a switching surge of 1 kA stays at 0.8 to 0.86 of it; the exponent is 30 to 40
    # where surges begin and falls below 10 above 10 kA
    table = dict(TYPICAL)
    assert table[1e-3] < np.sqrt(2.0) / 2.45 < table[1e-2]
    assert table[10e3] == 1.0 and 0.80 < table[1e3] < 0.86
    i, u = np.log(np.array(TYPICAL)).T
    exponent = np.diff(i) / np.diff(u)
    assert np.all(exponent[:6] > 30.0) and np.all(exponent[:6] < 41.0) and exponent[-1] < 10.0
    assert np.all(np.diff(exponent[3:]) < 0.0)


def test_low_currents_continue_in_the_typical_shape():
    points = extend([(100.0, 16e3), (10e3, 22e3)])
    assert points[0][0] == TYPICAL[0][0] and points[-2:] == [(100.0, 16e3), (10e3, 22e3)]
    table = dict(TYPICAL)
    for current, volts in points[:-2]:
        assert volts == pytest.approx(16e3 * table[current] / table[100.0], rel=1e-12)     # one product and quotient


@pytest.mark.parametrize("current, volts", [(100.0, 16.5e3), (10e3, 22e3), (1e3, np.sqrt(16.5e3 * 22e3)),
                                            (20e3, 22e3 * 1.1), (1e-2, 13e3 * 0.60 / 0.64)])
def test_voltage_at_a_current(current, volts):
    # between two points a decade either way the geometric mean; beyond the ends the ratio of the typical table
    assert find_voltage(*zip(*GIVEN), current) == pytest.approx(volts, rel=1e-12)


def test_first_current_of_zero_is_left_out():
    assert find_voltage([0.0, 1.0, 10e3], [9e3, 13e3, 22e3], 10e3) == 22e3
