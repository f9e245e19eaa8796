"""Dryers and their care."""
