"""Readings of a dryer, from files or live."""
