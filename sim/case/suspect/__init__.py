"""Values that are allowed but look like a slip of unit or base."""
