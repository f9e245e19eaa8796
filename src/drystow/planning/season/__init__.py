"""A whole season."""
