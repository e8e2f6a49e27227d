"""Loss of windings that rises with frequency, against the impedance of the circuit it stands for."""

import numpy as np
import pytest

from sim.params.winding_loss import QUALITY_HZ, split_loss

X, HZ = 12.0, 50.0


def impedance(series, across, hz):
    """R_s + (j w L parallel to R_p). [ohm]"""
    coil = 1j * X * hz / HZ
    return series + coil * across / (coil + across)


@pytest.mark.parametrize("quality", [2.0, 10.0, 30.0])
@pytest.mark.parametrize("ratio", [10.0, 50.0, 300.0])
def test_rated_frequency_keeps_its_loss_and_ten_kilohertz_has_the_quality(quality, ratio):
    """X/R as given at rated frequency; at 10 kHz that of the two losses together (textbook circuit theory)."""
    series, across = split_loss(X, X / ratio, quality, HZ)
    rated = impedance(series, across, HZ)
    assert rated.real == pytest.approx(X / ratio, rel=2e-4) and rated.imag == pytest.approx(X, rel=1e-4)
    fast = impedance(series, across, QUALITY_HZ)
    coil = X * QUALITY_HZ / HZ
    assert fast.real - series == pytest.approx(coil / quality / (1.0 + 1.0 / quality**2), rel=1e-9)


def test_no_winding_loses_more_than_it_was_given():
    series, across = split_loss(X, X / 1e5, 10.0, HZ)
    assert series == 0.0 and impedance(series, across, HZ).real == pytest.approx(X / 1e5, rel=1e-6)


def test_a_winding_without_loss_stays_without():
    assert split_loss(X, 0.0, 10.0, HZ) == (0.0, np.inf)


@pytest.mark.parametrize("factor, quality", [(1.7, 4.4), (1.8, 7.0)])
def test_the_default_damps_less_than_amplitude_factors_say(factor, quality):
    """Amplitude factor 1 + exp(-pi/(2 Q)) of a series ring: 1.7 in duty T10 of IEC 62271-100, 1.8 in IEEE C37.011
    (from memory, to be checked)."""
    assert 1.0 + np.exp(-0.5 * np.pi / quality) == pytest.approx(factor, abs=5e-3)
    assert quality < 10.0
