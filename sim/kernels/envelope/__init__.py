"""Steps of the envelope engine."""
