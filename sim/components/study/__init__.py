"""What is asked of a run: settings, limits, events, closings at random."""
