"""The waveform engine: phase quantities, fixed steps, poles that open at their zeros."""
