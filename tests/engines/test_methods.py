"""Coefficient tables: order conditions, stage order, L-stability.

Sources
-------
E. Hairer, S. P. Norsett, G. Wanner, *Solving Ordinary Differential Equations I*, section II.2: order conditions
by rooted trees.  E. Hairer, G. Wanner, *Solving Ordinary Differential Equations II*, sections IV.3 and IV.6:
stability function, A- and L-stability, stiff accuracy.
"""

import numpy as np
import pytest

from sim.engines.methods import METHODS, RESTART

EXACT = 1e-14       # sums of a few rationals of order one in double precision
# order -> (weighted sum of the tree over stages, its exact value 1/density)
TREES = {
    1: [(lambda a, c: np.ones_like(c), 1.0)],
    2: [(lambda a, c: c, 1 / 2)],
    3: [(lambda a, c: c**2, 1 / 3), (lambda a, c: a @ c, 1 / 6)],
    4: [(lambda a, c: c**3, 1 / 4), (lambda a, c: c * (a @ c), 1 / 8), (lambda a, c: a @ c**2, 1 / 12),
        (lambda a, c: a @ (a @ c), 1 / 24)],
}
EVERY = pytest.mark.parametrize("name", METHODS)
WITH_COMPANION = pytest.mark.parametrize("name", [n for n, m in METHODS.items() if m.error.any()])


def gaps(weights, method, order):
    """Residuals of all conditions of one order."""
    return np.array([weights @ tree(method.a, method.c) - value for tree, value in TREES[order]])


def stability(method, z):
    """R(z) = 1 + z b^T (I - z A)^-1 1, Hairer and Wanner II, equation IV.3.3."""
    size = len(method.c)
    return 1.0 + z * method.a[-1] @ np.linalg.solve(np.eye(size) - z * method.a, np.ones(size))


@EVERY
def test_order_conditions_hold_to_the_stated_order(name):
    method = METHODS[name]
    for order in range(1, method.order + 1):
        assert np.abs(gaps(method.a[-1], method, order)).max() < EXACT


@WITH_COMPANION
def test_companion_has_its_stated_order(name):
    method = METHODS[name]
    companion = method.a[-1] - method.error
    for order in range(1, method.error_order + 1):
        assert np.abs(gaps(companion, method, order)).max() < EXACT


@WITH_COMPANION
def test_difference_to_the_companion_shows_the_next_order(name):
    """An estimate that vanished at the order it has to estimate would accept anything."""
    method = METHODS[name]
    next_order = min(method.order, method.error_order) + 1
    assert np.abs(gaps(method.a[-1], method, next_order) - gaps(method.a[-1] - method.error, method,
                                                                next_order)).max() > 1e-4


def test_only_alexander2_has_no_companion():
    """It serves fixed steps, and the single step after a discontinuity."""
    assert [name for name, method in METHODS.items() if not method.error.any()] == ["alexander2"]


@EVERY
def test_stage_order(name):
    """A c = c^2/2 in every stage where the first stage is explicit; A 1 = c alone where all are implicit."""
    method = METHODS[name]
    assert np.abs(method.a @ np.ones_like(method.c) - method.c).max() < EXACT
    second = np.abs(method.a @ method.c - 0.5 * method.c**2).max()
    assert second < EXACT if method.explicit_first else second > 1e-3


@EVERY
def test_stages_share_one_diagonal_coefficient(name):
    method = METHODS[name]
    diagonal = np.diag(method.a)
    implicit = diagonal[1:] if method.explicit_first else diagonal
    assert np.abs(implicit - method.gamma).max() < EXACT
    assert np.triu(method.a, 1).max() == 0.0
    assert (diagonal[0] == 0.0) == method.explicit_first


@EVERY
def test_last_stage_is_the_new_value(name):
    assert METHODS[name].c[-1] == pytest.approx(1.0, abs=EXACT)


@EVERY
def test_restart_method_shares_gamma_and_needs_no_old_slope(name):
    start = METHODS[RESTART[name]]
    assert start.gamma == pytest.approx(METHODS[name].gamma, abs=EXACT)
    assert not start.explicit_first
    assert start.order == METHODS[name].order


@EVERY
def test_vanishes_at_infinity(name):
    """R(inf) = 0: exactly, from the implicit block of the table."""
    method = METHODS[name]
    first = int(method.explicit_first)
    block = method.a[first:, first:]
    start = method.a[first:, 0] if first else np.zeros(len(block))
    # as z grows the implicit stages become -A^-1 a0 times the first one, plus terms of 1/z
    assert abs(np.linalg.solve(block, start)[-1]) < 1e-13
    assert abs(stability(method, -1e7)) < 1e-5


@EVERY
def test_never_grows_on_the_imaginary_axis(name):
    """With all poles at 1/gamma > 0 this is A-stability (maximum principle)."""
    y = np.concatenate([np.geomspace(1e-3, 1e5, 2000), np.linspace(0.01, 40.0, 2000)])
    size = np.array([abs(stability(METHODS[name], 1j * at)) for at in y])
    assert size.max() <= 1.0 + 1e-12
    assert METHODS[name].gamma > 0.0


def test_alexander2_and_trbdf2_share_their_stability_function():
    z = np.array([0.3, -2.0, 5j, -1.0 + 3j, -40.0, 1e3j])
    pair = [[stability(METHODS[name], at) for at in z] for name in ("alexander2", "trbdf2")]
    np.testing.assert_allclose(pair[0], pair[1], atol=1e-13)
