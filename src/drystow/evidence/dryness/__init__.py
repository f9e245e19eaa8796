"""Dryness."""
