"""Figures of each command, drawn into a directory."""
