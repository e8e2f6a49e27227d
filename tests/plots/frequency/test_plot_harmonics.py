"""Harmonics over a sliding cycle, of signals whose harmonics are known."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from plots.frequency.harmonics import share_of_second, slide_harmonics

TURN = 2.0 * np.pi * 50.0
T = np.linspace(0.0, 0.1, 10001)


@given(second=st.floats(0.0, 2.0), offset=st.floats(-3.0, 3.0), angle=st.floats(0.0, 6.28))
def test_harmonics_of_a_periodic_signal_stand_still(second, offset, angle):
    """Whole cycles on an even grid are exact; straight between samples 10 us apart costs (2 w dt)^2 / 8 = 5e-6."""
    y = offset + np.cos(TURN * T + 0.3) + second * np.cos(2.0 * TURN * T + angle)
    t, amplitudes = slide_harmonics(T, y, 50.0, (1, 2))
    assert t[0] == pytest.approx(0.02, rel=1e-9) and t[-1] == pytest.approx(0.1, rel=1e-9)
    np.testing.assert_allclose(amplitudes, np.array([[1.0], [second]]) * np.ones(len(t)), atol=3e-5)


def test_second_harmonic_of_half_a_sine():
    """Fourier series of a half-wave rectified sine: 1/2 at the fundamental, 2/(3 pi) at the second."""
    t, share = share_of_second(T, np.maximum(np.sin(TURN * T), 0.0), 50.0, 1e-3)
    np.testing.assert_allclose(share, 100.0 * (2.0 / (3.0 * np.pi)) / 0.5, rtol=1e-3)    # corners on 128 points


def test_a_window_holds_the_cycle_before_it():
    y = np.where(T < 0.05, 0.0, np.cos(TURN * T))
    t, (first,) = slide_harmonics(T, y, 50.0, (1,))
    np.testing.assert_allclose(first[t < 0.0499], 0.0, atol=1e-12)
    np.testing.assert_allclose(first[t > 0.0702], 1.0, atol=1e-4)


def test_a_small_fundamental_tells_nothing():
    assert np.isnan(share_of_second(T, 0.01 * np.cos(2.0 * TURN * T), 50.0, 1e-3)[1]).all()


def test_less_than_a_cycle_has_no_harmonics():
    t, amplitudes = slide_harmonics(T[:1500], T[:1500], 50.0, (1, 2))
    assert len(t) == 0 and amplitudes.shape == (2, 0)
