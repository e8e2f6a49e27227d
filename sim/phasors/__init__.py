"""Phasors: what a network does in sinusoidal steady state, and at complex frequencies.

Voltages are line-to-line RMS, currents sqrt(3) times the RMS phase current, admittances per phase of the star, as in
`sim.network.tables`.  Every island has its own frequency.  Nothing here loads a compiler.
"""
