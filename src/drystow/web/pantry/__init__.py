"""Packages, places, what became of them."""
