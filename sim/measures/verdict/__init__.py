"""Criteria, and what they say of a run."""
