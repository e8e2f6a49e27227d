"""One run from its first state to its end, in both engines."""
