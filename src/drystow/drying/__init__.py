"""Vapour: the dried layer, bound water and the closed formulas of drying."""
