"""Closings of a breaker at random."""
