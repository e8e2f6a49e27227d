"""Figures of switching, faults and their duties."""
