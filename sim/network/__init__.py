"""From a checked case to the arrays that the engines integrate."""
