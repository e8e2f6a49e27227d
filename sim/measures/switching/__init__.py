"""What breakers, arresters and faults go through."""
