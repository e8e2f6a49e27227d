"""Parameters of components worked out from their data, before anything is simulated."""
