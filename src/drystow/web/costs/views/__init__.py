"""Pages of the costs app."""
