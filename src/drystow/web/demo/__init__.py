"""Alder Lane Kitchen, an invented kitchen."""
