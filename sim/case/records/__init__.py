"""From validated tables to records in SI."""
