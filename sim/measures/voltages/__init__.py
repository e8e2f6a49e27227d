"""Sags and overvoltages of nodes."""
