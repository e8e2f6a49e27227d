"""Signals over a whole run: time axis, cycles, RMS values, spectra."""
