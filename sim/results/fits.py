"""What a model was fitted to and what it makes of it."""

from typing import NamedTuple

import numpy as np


class Reproduced(NamedTuple):
    """A figure that a model was fitted to.

    Attributes
    ----------
    name : str
    target, reproduced : float
        What it was fitted to and what it makes of it, both in `unit`.
    unit : str
    error_pct : float
        Of the reproduced value, relative to the target. [%]
    origin : str
        Of the target, in a word: "given", "derived" from what was given, or "assumed".
    """

    name: str
    target: float
    reproduced: float
    unit: str
    error_pct: float
    origin: str


class SequenceFit(NamedTuple):
    """Series impedance of one sequence against frequency, shapes (n,).

    Attributes
    ----------
    name : str
        Such as "positive sequence".
    exact, fitted : ndarray, complex
        R + j w L of the construction and of the branches. [ohm/m]
    """

    name: str
    exact: np.ndarray
    fitted: np.ndarray
