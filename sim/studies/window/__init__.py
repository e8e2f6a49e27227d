"""Start window of a drive."""
