"""Machines: motor, shaft and what they drive."""
