"""Figures of starts and of what was fitted for them."""
