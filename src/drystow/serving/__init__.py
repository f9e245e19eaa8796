"""Putting the water back, and cooking."""
