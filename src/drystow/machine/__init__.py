"""The load in the dryer: all trays at once, to dryness."""
