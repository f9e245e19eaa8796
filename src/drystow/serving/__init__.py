"""Putting the water back and cooking with dried food."""
