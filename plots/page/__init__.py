"""Paper, looks, labels and flags that all figures share."""
