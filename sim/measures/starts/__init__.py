"""How machines start, and what flows meanwhile."""
