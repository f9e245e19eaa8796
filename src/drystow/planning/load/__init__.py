"""Load."""
