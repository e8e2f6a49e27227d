"""Small dense systems against numpy.linalg."""

import numpy as np
import pytest

from sim.kernels import small

pytestmark = pytest.mark.usefixtures("plain_python")


def make(size, complex_, seed=1):
    rng = np.random.default_rng(seed + size)
    a = rng.normal(size=(size, size))
    return a + 1j * rng.normal(size=(size, size)) if complex_ else a


@pytest.mark.parametrize("complex_", [False, True])
@pytest.mark.parametrize("size", [1, 2, 3, 6, 12])
def test_solution_is_that_of_numpy(size, complex_):
    a, b = make(size, complex_), make(size, complex_, 5)[:, 0].copy()
    expected = np.linalg.solve(a, b)
    small.solve_small(a.copy(), b, size)
    assert b == pytest.approx(expected, rel=1e-10)


def test_only_the_leading_block_is_solved():
    a, b = make(5, False), np.arange(5.0)
    expected = np.linalg.solve(a[:3, :3], b[:3])
    small.solve_small(a.copy(), b, 3)
    assert b[:3] == pytest.approx(expected, rel=1e-12)
    assert b[3:].tolist() == [3.0, 4.0]


def test_rows_change_places_where_a_pivot_is_nothing():
    """Without pivoting the first column divides by zero; the answer of a permutation matrix is a permutation."""
    a, b = np.array([[0.0, 0.0, 1.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]]), np.array([3.0, 1.0, 2.0])
    small.solve_small(a.copy(), b, 3)
    assert b.tolist() == [1.0, 2.0, 3.0]
    out = np.zeros((3, 3), complex)
    small.invert(a.astype(complex), out)
    assert out.tolist() == a.T.tolist()


@pytest.mark.parametrize("size", [1, 2, 5, 12])
def test_inverse_is_that_of_numpy(size):
    a = make(size, True)
    out = np.zeros_like(a)
    small.invert(a.copy(), out)
    assert out == pytest.approx(np.linalg.inv(a), rel=1e-9)


def test_widely_different_admittances_keep_their_digits():
    """A contact of 50 micro-ohm beside an insulation of a gigohm: the residual is judged row by row."""
    a = np.diag([2e4, 2e4, 1e-9]).astype(complex)
    a[0, 1] = a[1, 0] = -2e4 * (1.0 - 1e-8)
    a[1, 2] = a[2, 1] = -1e-10
    out = np.zeros_like(a)
    small.invert(a.copy(), out)
    assert a @ out == pytest.approx(np.eye(3), abs=1e-7)       # 2e4/1e-9 leaves 16 - 8 digits of the difference
