"""Schedule."""
