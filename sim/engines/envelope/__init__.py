"""The envelope engine: balanced networks in turning frames, adaptive steps."""
