"""From TOML text to validated components."""
