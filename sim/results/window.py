"""Curves and settings of a start window."""

from typing import NamedTuple

import numpy as np


class Curve(NamedTuple):
    """Torque over breakaway torque against the start frequency; `kind` is "limit", "flux", "law" or "boost"."""

    name: str
    torque: np.ndarray
    kind: str


class Tried(NamedTuple):
    """A setting: where it lies, what it is, what became of it in the time domain (None when it was not tried)."""

    hz: float
    torque: float
    text: str
    outcome: str | None
