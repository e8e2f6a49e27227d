"""What every value is, where it comes from and how good it is."""
