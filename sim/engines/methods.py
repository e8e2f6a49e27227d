"""Coefficient tables of the diagonally implicit Runge-Kutta methods.

Every method is stiffly accurate (the last stage is the new value) and has one diagonal coefficient, so
one factorisation serves all stages of a step.  A method with an explicit first stage reuses the last
derivative of the step before; after a discontinuity there is none to reuse, so each such method is
paired with a *restart* method of the same diagonal coefficient whose stages are all implicit.

Sources
-------
alexander2 : R. Alexander, "Diagonally implicit Runge-Kutta methods for stiff ODEs", SIAM J. Numer.
    Anal. 14 (1977), order 2, L-stable.  Its stability function equals that of the trapezoid-BDF2 pair
    with the same diagonal coefficient.
trbdf2 : Hosea and Shampine, Appl. Numer. Math. 20 (1996), order 2 with an order-3 companion.
hairer4 : Hairer and Wanner, *Solving ODEs II*, table IV.6.5, order 4 with an order-3 companion.
kennedy4 : Kennedy and Carpenter, Appl. Numer. Math. 44 (2003), the implicit half of the order-4 pair
    with six stages and stage order 2.
Order conditions are checked in tests/engines/test_methods.py.
"""

from typing import NamedTuple

import numpy as np


class Method(NamedTuple):
    """One table.

    Attributes
    ----------
    a : ndarray, shape (s, s)
        Lower triangular; the last row is also the weight vector.
    c : ndarray, shape (s,)
        Stage times as a share of the step.
    error : ndarray, shape (s,)
        Weights minus companion weights; zero where the method has no companion.
    gamma : float
        The diagonal coefficient.
    explicit_first : bool
        The first stage is the old point.
    order, error_order : int
        Order of the method and of its companion.
    """

    a: np.ndarray
    c: np.ndarray
    error: np.ndarray
    gamma: float
    explicit_first: bool
    order: int
    error_order: int


def _method(a, companion, explicit_first, order, error_order):
    a = np.array(a, dtype=float)
    error = a[-1] - np.array(companion, dtype=float) if companion is not None else np.zeros(len(a))
    return Method(a, a.sum(axis=1), error, float(a[-1, -1]), explicit_first, order, error_order)


_G2 = 1.0 - np.sqrt(0.5)
_W = np.sqrt(2.0) / 4.0

METHODS = {
    "alexander2": _method([[_G2, 0], [1 - _G2, _G2]], None, False, 2, 1),
    "trbdf2": _method([[0, 0, 0], [_G2, _G2, 0], [_W, _W, _G2]],
                      [(1 - _W) / 3, (3 * _W + 1) / 3, _G2 / 3], True, 2, 3),
    "hairer4": _method([[1 / 4, 0, 0, 0, 0],
                        [1 / 2, 1 / 4, 0, 0, 0],
                        [17 / 50, -1 / 25, 1 / 4, 0, 0],
                        [371 / 1360, -137 / 2720, 15 / 544, 1 / 4, 0],
                        [25 / 24, -49 / 48, 125 / 16, -85 / 12, 1 / 4]],
                       [59 / 48, -17 / 96, 225 / 32, -85 / 12, 0], False, 4, 3),
    "kennedy4": _method([[0, 0, 0, 0, 0, 0],
                         [1 / 4, 1 / 4, 0, 0, 0, 0],
                         [8611 / 62500, -1743 / 31250, 1 / 4, 0, 0, 0],
                         [5012029 / 34652500, -654441 / 2922500, 174375 / 388108, 1 / 4, 0, 0],
                         [15267082809 / 155376265600, -71443401 / 120774400,
                          730878875 / 902184768, 2285395 / 8070912, 1 / 4, 0],
                         [82889 / 524892, 0, 15625 / 83664, 69875 / 102672, -2260 / 8211, 1 / 4]],
                        [4586570599 / 29645900160, 0, 178811875 / 945068544,
                         814220225 / 1159782912, -3700637 / 11593932, 61727 / 225920], True, 4, 3),
}

RESTART = {"trbdf2": "alexander2", "kennedy4": "hairer4", "alexander2": "alexander2", "hairer4": "hairer4"}
