"""Assembly of the network arrays."""
