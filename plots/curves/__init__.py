"""Signals of a run as curves and panels."""
