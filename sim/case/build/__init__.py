"""From validated components to records in SI."""
