"""What the studies leave behind for figures: plain records, no computation."""
