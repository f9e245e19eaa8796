"""Packages and labels of a batch."""
