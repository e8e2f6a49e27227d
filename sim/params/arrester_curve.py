"""Voltage against current of metal-oxide surge arresters: the usual shape, and curves as chords.

A metal-oxide block follows i ~ u^n piece by piece: n is 30 to 40 from leakage to switching surges and falls to less
than 10 above 10 kA.  Between points the curve is therefore a straight line over the logarithms of both.

Source
------
Shape: typical metal oxide, common practice; the residual voltage at 10 kA is its base (IEC 60099-4).
"""

from collections.abc import Sequence
from math import exp, log

RESIDUAL_CURRENT = 10e3     # at which the residual voltage is stated [A]
CHORD_ERROR = 0.01          # most a chord's voltage may differ from the curve's at the same current
# current [A], voltage of the residual voltage at 10 kA
TYPICAL = ((1e-3, 0.56), (1e-2, 0.60), (1e-1, 0.64), (1.0, 0.68), (10.0, 0.72), (100.0, 0.77), (500.0, 0.81),
           (1e3, 0.835), (2e3, 0.87), (5e3, 0.94), (10e3, 1.0), (20e3, 1.10))

Points = list[tuple[float, float]]


def find_voltage(currents: Sequence[float], voltages: Sequence[float], current: float) -> float:
    """Voltage at a current [A], straight over the logarithms; beyond the ends it goes on as the typical curve does.

    Parameters
    ----------
    currents, voltages : sequence of float
        Ascending; a first current of 0 is left out.  [A], any unit
    current : float
        > 0  [A]
    """
    points = [(i, u) for i, u in zip(currents, voltages) if i > 0.0]
    if not points[0][0] <= current <= points[-1][0]:
        i, u = points[0] if current < points[0][0] else points[-1]
        return u * interpolate(TYPICAL, current) / interpolate(TYPICAL, i)
    return interpolate(points, current)


def interpolate(points: Sequence[tuple[float, float]], current: float) -> float:
    """Straight lines over the logarithms; the first and last go on beyond the ends."""
    if len(points) == 1:
        return points[0][1]
    k = next((k for k in range(1, len(points) - 1) if current <= points[k][0]), len(points) - 1)
    (low, before), (high, after) = points[k - 1], points[k]
    return before * exp(log(after / before) * log(current / low) / log(high / low))


def scale_typical(residual: float) -> Points:
    """The typical curve of an arrester with this residual voltage at 10 kA [V]: points of current [A] and voltage."""
    return [(current, residual * share) for current, share in TYPICAL]


def extend(points: Points) -> Points:
    """Points of a curve down to the leakage where the typical curve begins, in its shape."""
    first, volts = points[0]
    base = interpolate(TYPICAL, first) if first > 0.0 else 1.0
    below = [(i, volts * u / base) for i, u in TYPICAL if 0.0 < i < first]
    return below + points


def make_chords(points: Points) -> Points:
    """A curve as chords from no current on.

    Parameters
    ----------
    points : list of (current, voltage)
        Ascending.  [A], [V]

    Returns
    -------
    chords : list of (current, voltage)
        Ascending in both; the first point is without current.  At the same current a chord's voltage is within 1 % of
        the curve's, which is straight over the logarithms between the points given.
    """
    points = extend(points)
    chords = [points[0]] if points[0][0] == 0.0 else [(0.0, 0.0), points[0]]
    for one, other in zip(points, points[1:]):
        chords += split(one, other)[1:] if one[0] > 0.0 else [other]
    return chords


def split(one: tuple[float, float], other: tuple[float, float]) -> Points:
    """Points from one to another, both included, in equal ratios of voltage and as many as the chords need."""
    exponent, ratio = log(other[0] / one[0]) / log(other[1] / one[1]), log(other[1] / one[1])
    count = 1
    while find_chord_error(exponent, ratio / count) > CHORD_ERROR:
        count += 1
    steps = [ratio * k / count for k in range(count)]
    return [*((one[0] * exp(exponent * step), one[1] * exp(step)) for step in steps), other]


def find_chord_error(exponent: float, ratio: float) -> float:
    """Largest error of voltage of a chord of i = u^n from u = 1 to u = exp(ratio), at equal current.

    The chord is u = 1 - b + b i with b = (exp(ratio) - 1)/(exp(n ratio) - 1).  Its share of the curve's i^(1/n) is
    least where the derivative vanishes, at i = (1 - b)/(b (n - 1)).
    """
    slope = (exp(ratio) - 1.0) / (exp(exponent * ratio) - 1.0)
    if abs(exponent - 1.0) < 1e-9:
        return 0.0
    current = (1.0 - slope) / (slope * (exponent - 1.0))
    return abs(1.0 - (1.0 - slope + slope * current) / current ** (1.0 / exponent))
