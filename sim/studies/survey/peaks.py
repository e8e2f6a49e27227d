"""The first peak of a frequency response."""

from collections.abc import Callable

import numpy as np

GOLDEN = 0.5 * (np.sqrt(5.0) - 1.0)
REFINEMENTS = 40         # golden sections: the bracket shrinks to 4e-9 of itself


def find_first_peak(response: Callable[[float], float], grid: np.ndarray) -> tuple[float, float] | None:
    """Lowest local maximum of a response.

    Parameters
    ----------
    response : callable
        Frequency [Hz] -> magnitude, any unit.
    grid : ndarray, shape (n,)
        Frequencies to look at, ascending; two peaks within one step are seen as one. [Hz]

    Returns
    -------
    frequency, magnitude : float
        None when the response has no maximum between the ends of the grid.
    """
    before, here = response(grid[0]), response(grid[1])
    for k in range(2, len(grid)):
        after = response(grid[k])
        if before < here >= after:
            best = refine(response, grid[k - 2], grid[k])
            return float(best), float(response(best))
        before, here = here, after
    return None


def refine(response: Callable[[float], float], low: float, high: float) -> float:
    """Maximum of a response with one maximum between low and high, by golden section."""
    left, right = high - GOLDEN * (high - low), low + GOLDEN * (high - low)
    at_left, at_right = response(left), response(right)
    for _ in range(REFINEMENTS):
        if at_left < at_right:
            low, left, at_left = left, right, at_right
            right = low + GOLDEN * (high - low)
            at_right = response(right)
        else:
            high, right, at_right = right, left, at_left
            left = high - GOLDEN * (high - low)
            at_left = response(left)
    return 0.5 * (low + high)
