"""Compiled kernels, run as plain Python."""
