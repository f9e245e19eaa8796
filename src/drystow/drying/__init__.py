"""Vapor: the dried layer, bound water, closed formulas."""
