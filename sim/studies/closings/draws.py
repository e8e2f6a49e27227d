"""What chance decides of a closing: the moment of the order, the scatter of the poles, the charge left on cables.

Closing number k of a seed is always the same one, whatever else is drawn: each has a generator of its own, the k-th
child of the seed (numpy.random.SeedSequence).
"""

from statistics import NormalDist
from typing import Any, NamedTuple

import numpy as np

SIGMAS = 3.0                # a pole's scatter, either way, in standard deviations; nothing is drawn beyond it
NORMAL = NormalDist()
BEYOND = NORMAL.cdf(-SIGMAS)


class Closing(NamedTuple):
    """One closing at random.

    `order` is its time [s], `delays` the closing of poles a, b and c after it [s], negative where scatter brings a
    pole before it; `charges` are those of each cable's phases, per unit of the crest of nominal phase voltage.
    """

    number: int
    order: float
    delays: tuple[float, float, float]
    charges: tuple[tuple[float, float, float], ...]


def draw_closing(case: Any, number: int) -> Closing:
    """One closing of a case's series.

    Parameters
    ----------
    case : CheckedCase
        With a table of random closings.
    number : int
        Of the closing, from 0.

    Returns
    -------
    closing : Closing
        The order falls anywhere within the spread with equal chance; each pole's deviation from its own delay is
        normal, three standard deviations are the breaker's scatter and nothing lies beyond (IEC 60071-2 and common
        practice); each phase's charge lies anywhere between its limits.

    Checked by
    ----------
    tests/studies/closings/test_draws.py
    """
    shots = case.shots
    breaker = next(breaker for breaker in case.breakers if breaker.name == shots.breaker)
    generator = np.random.default_rng(np.random.SeedSequence(shots.seed, spawn_key=(number,)))
    chance = generator.random(4 + 3 * len(shots.trapped_cables))
    delays = (delay + deviate(share, breaker.scatter_s) for delay, share in zip(breaker.closing_delays_s, chance[1:4]))
    charges = shots.trapped_most_pu * (2.0 * chance[4:].reshape(-1, 3) - 1.0)
    return Closing(number, shots.at_s + float(chance[0]) * shots.spread_s, tuple(delays),
                   tuple(tuple(row) for row in charges.tolist()))


def deviate(share: float, scatter: float) -> float:
    """Normal deviate, cut off at `scatter` either way, below which lies a given share of all. [as scatter]"""
    return scatter / SIGMAS * NORMAL.inv_cdf(BEYOND + share * (1.0 - 2.0 * BEYOND))
