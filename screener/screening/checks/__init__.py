"""The checks: one small pure function each, from an item to findings."""
