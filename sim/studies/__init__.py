"""What can be done with a case, and with runs of it."""
