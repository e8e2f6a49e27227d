"""What is wrong with a case, and what is likely not meant."""
