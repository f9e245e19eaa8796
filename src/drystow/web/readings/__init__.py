"""Readings of a dryer: from files of any logger, live, and by programs."""
