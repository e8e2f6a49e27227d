"""Measures and verdict: what a run says about the start, in the words and limits of the trade."""

from sim.measures.summary import summarise

__all__ = ["summarise"]
