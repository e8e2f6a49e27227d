"""Derived quantities of a case, nothing integrated."""
