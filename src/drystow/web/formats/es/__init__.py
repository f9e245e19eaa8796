"""Formats of Spanish."""
