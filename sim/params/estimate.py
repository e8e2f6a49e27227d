"""An estimated value and where it comes from."""

from typing import NamedTuple


class Estimate(NamedTuple):
    """Value in the unit its function states, and its basis in words for the data book."""

    value: float
    basis: str
