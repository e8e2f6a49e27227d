"""Induction motors: from the nameplate to an equivalent circuit, and what a circuit gives."""
