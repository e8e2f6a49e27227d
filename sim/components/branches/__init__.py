"""What joins two nodes."""
