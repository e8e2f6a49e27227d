"""Curves, resonances, rays and profiles of a frequency scan."""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np


class Ringing(NamedTuple):
    """A resonance of a sequence: frequency [Hz] and quality Q [1]."""

    frequency_hz: float
    quality: float


class Curve(NamedTuple):
    """A complex response over frequency.

    Attributes
    ----------
    name : str
        Written at the end of the line.
    frequency : ndarray, shape (n,)
        [Hz]
    values : ndarray, shape (n,), complex
        [ohm] or [pu]
    resonances : sequence of Ringing
        Those that may be marked on it.
    """

    name: str
    frequency: np.ndarray
    values: np.ndarray
    resonances: Sequence[Ringing]


class Ray(NamedTuple):
    """A harmonic order and, as pairs of drive frequencies [Hz], where its gain is above the limit."""

    order: int
    loud: Sequence[tuple[float, float]]


class Meeting(NamedTuple):
    """Where an order meets a resonance.

    Attributes
    ----------
    order : int
    drive_hz, harmonic_hz : float
        [Hz]
    gain : float
    peak_pu : float
        Of the crest of nominal voltage.
    node : str
    exceeds : bool
        Whether the gain is above the limit.
    """

    order: int
    drive_hz: float
    harmonic_hz: float
    gain: float
    peak_pu: float
    node: str
    exceeds: bool


class Along(NamedTuple):
    """Voltage along a cable at one resonance.

    Attributes
    ----------
    frequency_hz : float
        [Hz]
    km : ndarray, shape (n,)
        From the near end. [km]
    size : ndarray, shape (n,)
        Magnitude. [pu]
    is_gain : bool
        Whether it is per unit of the voltage of a source.
    """

    frequency_hz: float
    km: np.ndarray
    size: np.ndarray
    is_gain: bool
