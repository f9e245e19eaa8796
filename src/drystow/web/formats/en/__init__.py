"""Formats of English."""
