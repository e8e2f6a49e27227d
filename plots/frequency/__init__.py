"""Figures over frequency: scans and spectra."""
