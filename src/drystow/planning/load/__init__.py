"""The best load from a basket."""
