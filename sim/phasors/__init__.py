"""Phasors: what a network does in sinusoidal steady state."""
