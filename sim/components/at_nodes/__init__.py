"""Nodes, and what stands at one."""
