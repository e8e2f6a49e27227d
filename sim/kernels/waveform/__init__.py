"""Steps of the waveform engine."""
