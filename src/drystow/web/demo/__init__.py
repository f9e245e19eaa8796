"""Alder Lane Kitchen, an invented community kitchen, for the demo."""
