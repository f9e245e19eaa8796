"""Machine tests."""
