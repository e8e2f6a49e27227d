"""Thinning keeps crests, order and gaps."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from plots.page.decimation import KEPT_PER_COLUMN, thin

VALUES = st.one_of(st.floats(-1e6, 1e6), st.just(float("nan")))


@settings(max_examples=60, deadline=None)
@given(arrays(float, st.integers(1, 400), elements=VALUES), st.integers(1, 20))
def test_subset_in_order_with_both_extremes(y, columns):
    t = np.cumsum(np.abs(np.sin(np.arange(len(y)))))
    kept_t, kept_y = thin(t, y, columns)
    assert len(kept_t) <= max(len(y), 1) and len(kept_t) == len(kept_y)
    positions = np.searchsorted(t, kept_t)
    np.testing.assert_array_equal(kept_y, y[positions])
    assert (np.diff(positions) > 0).all()
    if np.isfinite(y).any():
        assert np.nanmax(kept_y) == np.nanmax(y) and np.nanmin(kept_y) == np.nanmin(y)


def test_every_column_keeps_its_own_extremes():
    t = np.linspace(0.0, 1.0, 100_001)
    y = np.random.default_rng(1).normal(size=len(t))
    kept_t, kept_y = thin(t, y, 100)
    assert len(kept_t) <= KEPT_PER_COLUMN * 100
    edges = np.linspace(0.0, 1.0, 101)
    for low, high in zip(edges, edges[1:]):
        inside, kept = (t >= low) & (t < high), (kept_t >= low) & (kept_t < high)
        assert kept_y[kept].max() == y[inside].max() and kept_y[kept].min() == y[inside].min()


def test_one_sample_spike_between_stretches_of_different_density():
    t = np.concatenate([np.linspace(0.0, 10.0, 200), np.linspace(10.0, 10.1, 200_000)])
    y = np.zeros(len(t))
    y[150_123] = -7.5
    kept_t, kept_y = thin(t, y)
    assert kept_y.min() == -7.5
    assert kept_t[np.argmin(kept_y)] == t[150_123]


def test_short_signals_stay_as_they_are():
    t = np.arange(10.0)
    assert thin(t, t**2)[0] is t


@pytest.mark.parametrize("columns", [1, 7, 1200])
def test_gap_stays_a_gap(columns):
    t = np.linspace(0.0, 1.0, 20_000)
    y = np.where((t > 0.4) & (t < 0.6), np.nan, 1.0)
    kept_t, kept_y = thin(t, y, columns)
    assert (np.isnan(kept_y) == ((kept_t > 0.4) & (kept_t < 0.6))).all()
