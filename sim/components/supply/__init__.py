"""What feeds: grids and drives."""
