"""Frequency scan of a case."""
