"""Drystow: from a tray of fresh food to a labelled, dated package of freeze-dried food."""

__version__ = "0.1.0"
