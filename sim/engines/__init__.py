"""Engines: steady state, envelope, waveform, and the hand-over between them."""
