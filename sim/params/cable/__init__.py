"""Cables: from construction to impedance, and from impedance to oscillators."""
